"""Readings recorded, refused, replayed; figures of the vehicle; checks of instruments; codes and temperatures."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from diag.case import (
    Case,
    CheckEntry,
    Entry,
    FindingEntry,
    OpenedEntry,
    SpecEntry,
    append,
    as_entries,
    create,
    load,
    replay,
)
from diag.knowledge.chosen import load_knowledge
from diag.knowledge.types import Knowledge
from diag.measure.errors import NODES
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis


@pytest.fixture(scope="module")
def shipped() -> Knowledge:
    return load_knowledge()


def told(knowledge: Knowledge, *texts: str, case: Case | None = None, **more: str) -> Case:
    """A case with what ``texts`` tell; fails where one is refused."""
    case = case or Case("case.yaml", "grey tractor", (OpenedEntry(opened={}, number=1),))
    entries, problems = as_entries(case, knowledge, texts, **more)  # type: ignore[arg-type]
    assert [p for p in problems if p.severity == "error"] == []
    numbered = (e.stamped(case.last_number + n, "", "") for n, e in enumerate(entries, start=1))
    return replace(case, entries=(*case.entries, *numbered))


def refused(knowledge: Knowledge, *texts: str, case: Case | None = None) -> tuple[str, str]:
    empty = Case("case.yaml", "grey tractor", (OpenedEntry(opened={}, number=1),))
    entries, problems = as_entries(case or empty, knowledge, texts)
    assert entries == ()
    (problem,) = [p for p in problems if p.severity == "error"]
    assert problem.code == "wrong-reading"
    return problem.message, problem.hint


def look(case: Case, knowledge: Knowledge, finding: str):
    (found,) = [one for one in replay(case, knowledge)[0].looks if one.finding == finding]
    return found


def test_a_reading_goes_by_its_short_id_and_counts(shipped: Knowledge) -> None:
    """Invented: two cylinders beside each other low."""
    case = told(shipped, "compression=8.1 8.0 4.2 4.4 bar", "head_flatness=3.2 thou")
    assert [e.finding for e in case.entries[1:]] == ["compression_dry", "head_straightedge"]
    likelihood = look(case, shipped, "compression_dry").likelihood
    states = shipped.findings["compression_dry"].states
    assert states[int(np.argmax(likelihood))] == "neighbours_low"


@pytest.mark.parametrize(
    ("text", "message", "hint"),
    [
        ("compression=400 400 400 400 bar", "400 bar cannot be", "between 0 and 60"),
        ("compression=8 8 8 -3 bar", "perfect vacuum", "0 bar absolute"),
        ("compression=8 8 8 8 mm", "length does not fit", "bar, kPa or psi"),
        ("head_flatness=0,08 mm", "comma", "0.08 mm"),
        ("head_flatness=0.08 bar", "pressure does not fit", "mm, um, thou"),
        ("head_flatness=0.08 0.1 mm", "one figure is wanted", "one by one"),
        ("pressure_drop=0.15 bar", "time is missing", "in 10 min"),
        ("pressure_drop=2 bar in 10 min", "cannot fall by", "1.1 to 0.95 bar"),
        ("cap_opening=0.9 bar of 0 bar", "no mark to compare", "of"),
        ("leak_down=120 %", "cannot be", "100 %"),
        ("leak_down=30 %, roof", "'roof' is not understood", "--note"),
        ("mix=-70 C", "no mix freezes", "-54"),
        ("mix=1.055 at 90 C", "cannot be read at 90", "cool"),
        ("radiator_temperatures=14 C", "a difference of two does", "14 K"),
        ("fan_current=12 V", "voltage does not fit", "A or mA"),
        ("spec.head_flatness=5 bar", "pressure does not fit", "mm"),
        ("spec.roof=5 mm", "no figure 'roof'", "cylinders"),
        ("spec.cylinders=4.5", "cannot be", "2 to 16"),
        ("check.gauge=low", "two figures", "0.85 bar at 1 bar"),
        ("codes=P12", "no fault code", "P0128"),
        ("temperatures=roof 90 C", "'roof'", "housing and bottom"),
    ],
)
def test_nonsense_is_refused_with_what_would_fit(shipped: Knowledge, text: str, message: str, hint: str) -> None:
    found = refused(shipped, text)
    assert message in found[0]
    assert hint in found[1]


def test_as_many_values_as_cylinders(shipped: Knowledge) -> None:
    for case in (told(shipped, "spec.cylinders=4"), told(shipped, "compression=8 8 8 8 bar")):
        message, hint = refused(shipped, "compression=8 8 8 bar", case=case)
        assert "3 values do not fit" in message
        assert "4 cylinders" in hint
    again = told(shipped, "compression=8 8 8 bar", "compression=8.1 8 8 bar")
    assert len(again.entries) == 3


def test_the_mark_of_a_wrong_reading_is_in_the_text(shipped: Knowledge) -> None:
    empty = Case("case.yaml", "grey tractor", (OpenedEntry(opened={}, number=1),))
    _, (problem,) = as_entries(empty, shipped, ["head_flatness=0,08 mm"])
    assert problem.mark.column == len("head_flatness=") + 2  # at the comma


def test_the_vehicles_own_limit_wins(shipped: Knowledge) -> None:
    general = look(told(shipped, "head_flatness=0.08 mm"), shipped, "head_straightedge").likelihood
    own = look(told(shipped, "head_flatness=0.08 mm", "spec.head_flatness=0.05 mm"), shipped, "head_straightedge")
    assert general[1] < own.likelihood[1] == 1.0


def test_a_mark_told_once_serves_all(shipped: Knowledge) -> None:
    one = told(shipped, "spec.cap=1.4 bar", "cap_opening=1 bar")
    two = told(shipped, "cap_opening=1 bar of 1.4 bar")
    assert look(one, shipped, "cap_holds").likelihood == look(two, shipped, "cap_holds").likelihood


def test_cooling_explains_a_small_drop(shipped: Knowledge) -> None:
    """7 L, 0.8 L of air, 50 to 45 C: 5.5 kPa by themselves (arithmetic, see test_formulas)."""
    name = "pressure_test_result"
    leak = look(told(shipped, "pressure_drop=0.055 bar in 10 min, 48 to 48 C"), shipped, name).likelihood
    cooled = look(told(shipped, "pressure_drop=0.055 bar in 10 min, 52 to 47 C"), shipped, name).likelihood
    unknown = look(told(shipped, "pressure_drop=0.055 bar in 10 min"), shipped, name).likelihood
    assert leak[0] < unknown[0] <= cooled[0] == 1.0


def test_what_was_seen_beside_the_figure(shipped: Knowledge) -> None:
    finding = shipped.findings["leakdown_air"]
    likelihood = look(told(shipped, "leak_down=35 %, bubbles in the tank"), shipped, finding.id).likelihood
    assert finding.states[int(np.argmax(likelihood))] == "tank"


def test_a_re_test_is_one_look(shipped: Knowledge) -> None:
    case = told(shipped, "head_flatness=0.11 mm", "head_straightedge=0.12 mm")
    found = look(case, shipped, "head_straightedge")
    assert found.entry == 2


def test_a_reading_under_the_wrong_circumstance_counts_for_nothing(shipped: Knowledge) -> None:
    case = told(shipped, "heater_temperatures=88 40 C", when=("cold",))
    assert set(look(case, shipped, "heater_hoses_differ").likelihood) == {1.0}


def test_instruments_share_an_error_where_something_tells_of_it(shipped: Knowledge) -> None:
    texts = ("cap_opening=0.9 bar of 1.1 bar", "pressure_drop=0.1 bar in 10 min, 40 to 40 C")
    case = told(shipped, *texts, with_instrument="pump")
    assert all(one.instruments == ("pump: pressure",) for one in replay(case, shipped)[0].looks)
    alone = told(shipped, texts[0], with_instrument="pump")
    assert look(alone, shipped, "cap_holds").instruments == ()
    checked = told(shipped, "check.pump=0.92 bar at 1 bar", case=alone)
    assert look(checked, shipped, "cap_holds").instruments == ("pump: pressure",)
    observations = replay(checked, shipped)[0]
    assert np.array(observations.checks["pump: pressure"]) @ NODES < 0
    other = told(shipped, "pump_current=0.6 A", case=case, with_instrument="pump")
    assert look(other, shipped, "auxiliary_pump_current").instruments == ()  # amperes have an error of their own


def test_a_gauge_found_low_clears_the_cap(shipped: Knowledge) -> None:
    """Invented: 10 per cent short on the gauge, and the gauge is 9 per cent low."""
    short = told(shipped, "cap_opening=0.99 bar of 1.1 bar", with_instrument="pump")
    checked = told(shipped, "check.pump=0.93 bar at 1 bar", case=short)
    weak = [
        Diagnosis(compile_case(shipped, replay(case, shipped)[0])).also_present()["cap_weak"]
        for case in (short, checked)
    ]
    assert weak[1] < weak[0]


def test_codes_tell_what_is_stored_and_what_is_not(shipped: Knowledge) -> None:
    case = told(shipped, "codes=P0128 P0302 P0303")
    states = {e.finding: e.state for e in case.entries if isinstance(e, FindingEntry)}
    assert states["code_thermostat"] == "yes"
    assert states["code_misfire"] == "neighbours"
    assert states["code_fan"] == "no"
    readings = {e.finding: e.reading for e in case.entries if isinstance(e, FindingEntry)}
    assert (readings["code_thermostat"], readings["code_fan"]) == ("P0128", "")


def test_an_unknown_code_is_said(shipped: Knowledge) -> None:
    empty = Case("case.yaml", "grey tractor", (OpenedEntry(opened={}, number=1),))
    entries, (note,) = as_entries(empty, shipped, ["codes=P0420"])
    assert (note.severity, note.code) == ("note", "unused-code")
    assert {e.state for e in entries if isinstance(e, FindingEntry)} == {"no", "none"}


def test_temperatures_tell_every_pair(shipped: Knowledge) -> None:
    case = told(shipped, "temperatures=housing 92, bottom 41, feed 88, return 60 C")
    assert {e.finding for e in case.entries if isinstance(e, FindingEntry)} == {
        "bottom_hose_cold",
        "heater_hoses_differ",
    }


def test_the_bytes_of_a_reader_are_a_reading(shipped: Knowledge) -> None:
    one = look(told(shipped, "cold_soak=pid 05 7B pid 46 43"), shipped, "sensor_cold_disagrees").likelihood
    two = look(told(shipped, "cold_soak=83 27 C"), shipped, "sensor_cold_disagrees").likelihood
    assert one == two


def test_new_entries_come_back_from_the_file(tmp_path: Path, shipped: Knowledge) -> None:
    path = tmp_path / "case.yaml"
    create(path, "grey tractor", {}, knowledge=shipped.version)
    new: list[Entry] = [
        SpecEntry(spec="cap", value="1.4 bar"),
        CheckEntry(check="Kim's pump", value="0.9 bar at 1 bar"),
    ]
    append(path, new, knowledge=shipped.version)
    kept = load(path).entries[1:]
    assert [(type(e), getattr(e, "value", "")) for e in kept] == [
        (SpecEntry, "1.4 bar"),
        (CheckEntry, "0.9 bar at 1 bar"),
    ]


@pytest.mark.parametrize("finding", [f.id for f in load_knowledge().findings.values() if f.reading])
def test_every_reading_model_of_the_base_reads_its_own_first_state_best(shipped: Knowledge, finding: str) -> None:
    """A figure in the middle of a state speaks for it."""
    asked = shipped.findings[finding]
    texts = EXAMPLES[asked.reading.short]
    for state, text in texts.items():
        likelihood = look(told(shipped, f"{asked.reading.short}={text}"), shipped, finding).likelihood
        assert asked.states[int(np.argmax(likelihood))] == state, text


# Invented figures, one for every state that a figure alone can tell.
EXAMPLES = {
    "compression": {"even": "12 12 11.8 12 bar", "one_low": "12 5 12 12 bar", "all_low": "4 4 4.1 4 bar"},
    "wet_compression": {"no": "5 to 5.2 bar", "yes": "5 to 7 bar"},
    "leak_down": {"none": "8 %", "filler": "40 %, filler", "neighbour": "60 %, neighbour"},
    "pressure_drop": {"holds": "0.01 bar in 10 min, 40 to 40 C", "falls_dry": "0.3 bar in 10 min, 40 to 40 C, dry"},
    "head_flatness": {"within": "0.03 mm", "beyond": "0.3 mm"},
    "cap_opening": {"holds": "1.1 bar of 1.1 bar", "weak": "0.6 bar of 1.1 bar", "stuck": "over 1.5 bar of 1.1 bar"},
    "mix": {"right": "50 %", "weak": "-8 C", "strong": "80 %"},
    "radiator_temperatures": {"ordinary": "95 84 C", "small": "96 94 C", "large": "104 70 C"},
    "bottom_hose_temperatures": {"no": "92 80 C", "yes": "95 40 C"},
    "heater_temperatures": {"no": "88 80 C", "yes": "88 50 C"},
    "cold_soak": {"agrees": "15 14 C", "disagrees": "83 14 C"},
    "gauge_difference": {"agrees": "92 88 C", "disagrees": "120 85 C"},
    "earth_drop": {"no": "50 mV", "yes": "0.8 V"},
    "coolant_voltage": {"no": "0.1 V", "yes": "0.8 V"},
    "fan_current": {"runs": "13 A", "draws_too_much": "40 A", "dead": "0 A"},
    "pump_current": {
        "normal": "1.2 A of 1.2 A",
        "low": "0.6 A of 1.2 A",
        "high": "4 A of 1.2 A",
        "none": "0 A of 1.2 A",
    },
}
