"""A knowledge base of a few entries, enough to replay a case against."""

from __future__ import annotations

import pytest

from diag.knowledge.types import (
    AccessStep,
    Cause,
    Finding,
    Fitting,
    HistoryFact,
    Knowledge,
    Number,
    TestEntry,
)
from diag.text import Mark

HERE = Mark("small.yaml", 1, 1)
ONE = Number(0.5, "judgement", HERE, 0.1, 0.9)


def _base(entry_id: str, name: str) -> dict[str, object]:
    return {"id": entry_id, "name": name, "chapter": "small", "mark": HERE}


def _finding(entry_id: str, states: tuple[str, ...], **more: object) -> Finding:
    told = {"question": "?", "false_alarm": {}, "ask": True, "complaint": False, **more}
    return Finding(**_base(entry_id, entry_id), states=states, **told)  # type: ignore[arg-type]


@pytest.fixture
def knowledge() -> Knowledge:
    findings = (
        _finding("bottom_hose_cold", ("no", "yes"), condition=("hot", "running"), words={"yes": "stays cold"}),
        _finding("gauge_shows", ("normal", "cold", "hot"), complaint=True, formerly=("gauge_reads",)),
        _finding("heater_cold", ("no", "yes"), complaint=True, condition=("warm",)),
        _finding("leak_visible", ("no", "yes"), complaint=True),
    )
    causes = tuple(
        Cause(**_base(i, i), weight=ONE, leads_to=(), shows=(), family="small")  # type: ignore[arg-type]
        for i in ("thermostat_stuck_closed", "thermostat_stuck_open")
    )
    test = TestEntry(
        **_base("feel_hoses", "feel the hoses"),  # type: ignore[arg-type]
        how=(),
        reveals=("bottom_hose_cold",),
        minutes=ONE,
        money=ONE,
        tools=(),
        access=(),
        outcomes={},
        hazards=(),
    )
    fact = HistoryFact(**_base("older_than_12_years", "old"), question="?", group="age", base=ONE, factors={})  # type: ignore[arg-type]
    fittings = tuple(
        Fitting(**_base(i, i), question="?", share=ONE)  # type: ignore[arg-type]
        for i in ("turbo", "viscous_clutch")
    )
    steps = (
        AccessStep(**_base("hot", "hot"), minutes=ONE, undo_minutes=ONE, conflicts=("drained", "warm")),  # type: ignore[arg-type]
        AccessStep(**_base("warm", "warm"), minutes=ONE, undo_minutes=ONE),  # type: ignore[arg-type]
        AccessStep(**_base("drained", "drained"), minutes=ONE, undo_minutes=ONE),  # type: ignore[arg-type]
    )
    return Knowledge(
        version="small-1",
        causes={e.id: e for e in causes},
        effects={},
        findings={e.id: e for e in findings},
        tests={test.id: test},
        history={fact.id: fact},
        fittings={e.id: e for e in fittings},
        access={e.id: e for e in steps},
        hazards={},
        references={},
        model={},
    )
