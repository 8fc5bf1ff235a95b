"""Ways over a whole knowledge base: its entries, links, numbers and acts, always in the same order."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import chain
from typing import Literal

from diag.knowledge.types import Cause, Effect, Entry, Finding, Knowledge, Link, Number, ReadingModel, Repair

# What a number stands for: a probability, an amount (minutes, money), a weight, a factor on a probability, or a
# figure of an instrument.
Role = Literal["probability", "amount", "weight", "factor", "reading"]

SECTIONS = (
    "causes",
    "effects",
    "findings",
    "tests",
    "history",
    "fittings",
    "access",
    "locks",
    "hazards",
    "references",
    "model",
    "parts",
    "troubles",
    "gates",
)

# Among the numbers of the model the one that is a weight, as a cause has it.
WEIGHT_OF_NOTHING = "share_without_fault"
# And the one that is a number of cases.
CASES_WORTH = "knowledge_worth"
_NO_CHANCES = (WEIGHT_OF_NOTHING, CASES_WORTH)

_TEXTS = ("what", "question", "proved_by", "misleads", "caution", "refuses", "where", "why", "way_out", "stop_at")


def section(knowledge: Knowledge, name: str) -> Mapping[str, Entry]:
    """The entries of one section by id."""
    found: Mapping[str, Entry] = getattr(knowledge, name)
    return found


def entries(knowledge: Knowledge) -> Iterator[Entry]:
    """Every entry."""
    return chain.from_iterable(section(knowledge, name).values() for name in SECTIONS)


def parents(knowledge: Knowledge) -> Iterator[Cause | Effect]:
    """Every entry that may have children."""
    return chain(knowledge.causes.values(), knowledge.effects.values())


def links(knowledge: Knowledge) -> Iterator[tuple[Cause | Effect, Link]]:
    """Every link with its parent, those to effects before those to findings."""
    for parent in parents(knowledge):
        for link in chain(parent.leads_to, parent.shows):
            yield parent, link


def repairs(knowledge: Knowledge) -> Iterator[tuple[Cause | Effect, Repair]]:
    """Every repair with what it puts right."""
    for parent in parents(knowledge):
        if parent.repair:
            yield parent, parent.repair


def readings(knowledge: Knowledge) -> Iterator[tuple[Finding, ReadingModel]]:
    """Every finding that can be told by a figure, with how."""
    for finding in knowledge.findings.values():
        if finding.reading:
            yield finding, finding.reading


def texts(knowledge: Knowledge) -> Iterator[tuple[Entry, str]]:
    """Every text that a person reads, names left out, with the entry it stands in."""
    for entry in entries(knowledge):
        for name in _TEXTS:
            yield entry, getattr(entry, name, "")
    for step in knowledge.access.values():
        for text in step.keep:
            yield step, text
    for test in knowledge.tests.values():
        for text in chain(test.how, *(told.values() for told in test.outcomes.values())):
            yield test, text
    for gate in knowledge.gates.values():
        yield from ((gate, text) for text in gate.how)


def numbers(knowledge: Knowledge) -> Iterator[tuple[Number, Role]]:
    """Every number with what it stands for."""
    for number in _probabilities(knowledge):
        yield number, "probability"
    for amount in _amounts(knowledge):
        if amount:
            yield amount, "amount"
    for weight in _weights(knowledge):
        yield weight, "weight"
    for fact in knowledge.history.values():
        for factor in fact.factors.values():
            yield factor, "factor"
    for _, reading in readings(knowledge):
        yield from ((figure, "reading") for figure in _figures(reading))


def _probabilities(knowledge: Knowledge) -> Iterator[Number]:
    for _, link in links(knowledge):
        for strengths in link.strengths.values():
            yield from strengths.values()
    for effect in knowledge.effects.values():
        yield from chain(effect.leak.values(), effect.inhibited_by.values())
    for finding in knowledge.findings.values():
        yield from finding.false_alarm.values()
    yield from (reading.said for _, reading in readings(knowledge) if reading.said)
    for _, repair in repairs(knowledge):
        yield from chain((repair.success,), repair.brings_in.values())
    for step in knowledge.access.values():
        yield from step.brings_in.values()
    yield from (fact.base for fact in knowledge.history.values())
    yield from (fitting.share for fitting in knowledge.fittings.values())
    yield from (number.value for name, number in knowledge.model.items() if name not in _NO_CHANCES)
    yield from (number for lock in knowledge.locks.values() for number in lock.likely.values())


def _figures(reading: ReadingModel) -> Iterator[Number]:
    for spread in reading.values.values():
        yield from spread.numbers.values()
    told = (reading.limit, reading.limit_factor, reading.stop)
    yield from (reading.error, reading.scatter, reading.least, reading.greatest)
    yield from (number for number in told if number)
    yield from reading.figures.values()


def _weights(knowledge: Knowledge) -> Iterator[Number]:
    yield from (cause.weight for cause in knowledge.causes.values())
    yield from (effect.residual for effect in knowledge.effects.values() if effect.residual)
    yield from (number.value for name, number in knowledge.model.items() if name == WEIGHT_OF_NOTHING)


def _amounts(knowledge: Knowledge) -> Iterator[Number | None]:
    yield from (number.value for name, number in knowledge.model.items() if name == CASES_WORTH)
    for _, repair in repairs(knowledge):
        yield from (repair.minutes, repair.money)
    for test in knowledge.tests.values():
        yield from (test.minutes, test.money, test.waiting, *test.harm.values())
    for step in knowledge.access.values():
        yield from (step.minutes, step.undo_minutes, step.waiting, *step.harm.values())
