"""The entries of a chapter: causes, effects, findings and tests, one reading function each."""

from __future__ import annotations

from typing import Any, get_args

from diag.knowledge.fields import Fields
from diag.knowledge.known import TWO_STATES
from diag.knowledge.readings import read_reading
from diag.knowledge.types import Cause, Effect, Finding, GateKind, Repair, TestEntry


def read_entry(fields: Fields, chapter: str) -> dict[str, Any]:
    """What every entry has, as arguments of its class."""
    return {
        "id": fields.id,
        "name": fields.text("name"),
        "chapter": chapter,
        "mark": fields.mark,
        "also_called": fields.texts("also_called"),
        "formerly": fields.texts("formerly"),
        "what": fields.text("what", needed=False),
    }


def read_cause(fields: Fields, chapter: str) -> Cause:
    """A cause of a chapter."""
    return Cause(
        **read_entry(fields, chapter),
        weight=fields.number("weight"),
        leads_to=fields.links("leads_to", "effects", TWO_STATES),
        shows=fields.links("shows", "findings", TWO_STATES),
        family=fields.text("family"),
        proved_by=fields.text("proved_by", needed=False),
        repair=read_repair(fields),
        hazards=fields.ids("hazards", "hazards"),
        fitted=fields.ids("fitted", "fittings"),
        not_fitted=fields.ids("not_fitted", "fittings"),
    )


def read_effect(fields: Fields, chapter: str) -> Effect:
    """An effect of a chapter. Its leak may be left out at a gate that needs several parents."""
    states = fields.states()
    gate = fields.word("gate", get_args(GateKind), "or")
    return Effect(
        **read_entry(fields, chapter),
        kind=fields.word("kind", ("mechanism", "damage")),
        states=states,
        gate=gate,
        leak=fields.by_state("leak", states, needed=gate == "or"),
        leads_to=fields.links("leads_to", "effects", states),
        shows=fields.links("shows", "findings", states),
        k=fields.whole("k", 0),
        inhibited_by=fields.numbers("inhibited_by", "effects"),
        repair=read_repair(fields),
        hazards=fields.ids("hazards", "hazards"),
        residual=fields.number_or_none("residual"),
    )


def read_finding(fields: Fields, chapter: str) -> Finding:
    """A finding of a chapter."""
    states = fields.states()
    return Finding(
        **read_entry(fields, chapter),
        states=states,
        question=fields.text("question", needed=False),
        false_alarm=fields.by_state("false_alarm", states),
        ask=fields.flag("ask"),
        complaint=fields.flag("complaint"),
        condition=fields.ids("condition", "access"),
        words=fields.words_by_state("words", states),
        reading=read_reading(fields, states),
        codes=fields.words_by_name("codes"),
    )


def read_test(fields: Fields, chapter: str) -> TestEntry:
    """A test of a chapter."""
    return TestEntry(
        **read_entry(fields, chapter),
        how=fields.texts("how", needed=True),
        reveals=fields.ids("reveals", "findings", needed=True),
        minutes=fields.number("minutes"),
        money=fields.number("money"),
        tools=fields.texts("tools", needed=True),
        access=fields.ids("access", "access", needed=True),
        outcomes=fields.outcomes("outcomes"),
        hazards=fields.ids("hazards", "hazards", needed=True),
        misleads=fields.text("misleads", needed=False),
        skill=fields.whole("skill", 1),
        waiting=fields.number_or_none("waiting"),
        fitted=fields.ids("fitted", "fittings"),
        harm=fields.numbers("harm", "effects"),
    )


def read_repair(fields: Fields) -> Repair | None:
    """The repair inside a cause or a damage, or None."""
    inner = fields.nested("repair")
    if inner is None:
        return None
    repair = Repair(
        name=inner.text("name"),
        minutes=inner.number("minutes"),
        money=inner.number("money"),
        success=inner.number("success"),
        mark=inner.mark,
        access=inner.ids("access", "access"),
        hazards=inner.ids("hazards", "hazards"),
        brings_in=inner.numbers("brings_in", "causes"),
        destroys=inner.ids("destroys", "findings"),
    )
    inner.close()
    return repair
