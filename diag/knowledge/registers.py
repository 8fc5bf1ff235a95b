"""The entries outside the chapters: history, fittings, access steps, hazards and references."""

from __future__ import annotations

from diag.knowledge.chapter import read_entry
from diag.knowledge.fields import Fields
from diag.knowledge.types import (
    AccessStep,
    Fitting,
    Hazard,
    HistoryFact,
    Lock,
    ModelNumber,
    Part,
    Reference,
    StartGate,
    Trouble,
)

# What the model cannot do without; what each means stands beside it in model.yaml.
MODEL_NUMBERS = (
    "coexistence",
    "complaint_false_alarm",
    "failure_when_fine",
    "knowledge_worth",
    "relief_by_other_repair",
    "relief_by_right_repair",
    "second_look_copies",
    "share_without_fault",
    "strength_of_unlisted",
    "success_with_trouble",
)


def read_history(fields: Fields, chapter: str) -> HistoryFact:
    """A fact about the past."""
    return HistoryFact(
        **read_entry(fields, chapter),
        question=fields.text("question"),
        group=fields.text("group"),
        base=fields.number("base"),
        factors=fields.numbers("factors", "causes", needed=True),
    )


def read_fitting(fields: Fields, chapter: str) -> Fitting:
    """What a vehicle may have."""
    return Fitting(
        **read_entry(fields, chapter),
        question=fields.text("question"),
        share=fields.number("share"),
        refuses=fields.text("refuses", needed=False),
    )


def read_access(fields: Fields, chapter: str) -> AccessStep:
    """A state of the vehicle that a person can bring about."""
    return AccessStep(
        **read_entry(fields, chapter),
        minutes=fields.number("minutes"),
        undo_minutes=fields.number("undo_minutes"),
        waiting=fields.number_or_none("waiting"),
        needs=fields.ids("needs", "access"),
        conflicts=fields.ids("conflicts", "access"),
        destroys=fields.ids("destroys", "findings"),
        hazards=fields.ids("hazards", "hazards"),
        gives=fields.ids("gives", "access"),
        hides=fields.ids("hides", "findings"),
        brings_back=fields.ids("brings_back", "findings"),
        keep=fields.texts("keep"),
        harm=fields.numbers("harm", "effects"),
        brings_in=fields.numbers("brings_in", "causes"),
    )


def read_lock(fields: Fields, chapter: str) -> Lock:
    """What must not be done as things stand."""
    return Lock(
        **read_entry(fields, chapter),
        bars=fields.ids("bars", "access"),
        why=fields.text("why"),
        way_out=fields.text("way_out"),
        tests=fields.ids("tests", "tests"),
        told=fields.answers("told"),
        likely=fields.numbers("likely", "effects"),
        during=fields.ids("during", "access"),
        unless=fields.answers("unless"),
        lifted_by=fields.ids("lifted_by", "access"),
    )


def read_part(fields: Fields, chapter: str) -> Part:
    """A part that is renewed as one."""
    return Part(
        **read_entry(fields, chapter),
        faults=fields.faults("faults", needed=True),
        renewed_by=fields.faults("renewed_by", needed=True),
    )


def read_trouble(fields: Fields, chapter: str) -> Trouble:
    """What may come back after a repair."""
    return Trouble(**read_entry(fields, chapter), effects=fields.ids("effects", "effects", needed=True))


def read_gate(fields: Fields, chapter: str) -> StartGate:
    """A gate of the first start."""
    return StartGate(
        **read_entry(fields, chapter),
        place=fields.whole("place", 1),
        how=fields.texts("how", needed=True),
        stop_at=fields.text("stop_at"),
        passes=fields.answers("passes"),
        hazards=fields.ids("hazards", "hazards", needed=True),
        running=fields.flag("running"),
    )


def read_hazard(fields: Fields, chapter: str) -> Hazard:
    """A way to get hurt."""
    return Hazard(**read_entry(fields, chapter), caution=fields.text("caution", needed=False))


def read_model(fields: Fields, chapter: str) -> ModelNumber:
    """A number of the model itself."""
    return ModelNumber(**read_entry(fields, chapter), value=fields.number("value"))


def read_reference(fields: Fields, chapter: str) -> Reference:
    """A published source."""
    return Reference(**read_entry(fields, chapter), where=fields.text("where", needed=False))
