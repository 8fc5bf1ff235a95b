"""What an entry says that the knowledge base does not know."""

from __future__ import annotations

from collections.abc import Iterator

from diag.case.answer import Fault, read_answer
from diag.case.circumstance import Circumstances
from diag.case.entry import (
    MOST_STATEMENTS,
    NOT_FOUND,
    AccessEntry,
    CheckEntry,
    ConfirmedEntry,
    Entry,
    FindingEntry,
    FittingEntry,
    OpenedEntry,
    RepairEntry,
    SpecEntry,
    TheoryEntry,
)
from diag.case.ids import Ids, id_problem, ids_of
from diag.case.measured import findings_of
from diag.case.scalar import shown
from diag.knowledge.types import AccessStep, Cause, Effect, Finding, Fitting, HistoryFact, Knowledge, Part
from diag.measure.checks import read_check
from diag.measure.forms import read_text
from diag.measure.misread import Misread
from diag.measure.vehicle import Vehicle, read_figure
from diag.text import Mark, Problem, did_you_mean


def entry_problems(entry: Entry, knowledge: Knowledge) -> list[Problem]:
    """Unknown ids, states and circumstances of one entry, each with its place and the nearest known."""
    return problems_of(entry, ids_of(knowledge), Circumstances.of(knowledge))


def problems_of(entry: Entry, ids: Ids, circumstances: Circumstances, vehicle: Vehicle | None = None) -> list[Problem]:
    """As ``entry_problems``, for many entries of one knowledge base; ``vehicle`` is what the case tells of it."""
    found = [id_problem(ids, told, wanted, mark) for told, wanted, mark in _told_ids(entry)]
    problems = [problem for problem in found if problem]
    if isinstance(entry, FindingEntry) and not problems:
        problems += _state_problems(entry, ids, vehicle or Vehicle())
        problems += _when_problems(entry, circumstances)
    if isinstance(entry, TheoryEntry) and not problems:
        problems += _theory_problems(entry)
    if isinstance(entry, SpecEntry):
        problems += _misread(entry, read_figure(entry.spec, entry.value, findings_of(ids)), entry.spec, "value")
    if isinstance(entry, CheckEntry):
        problems += _misread(entry, read_check(entry.value), entry.check, "value")
    if isinstance(entry, RepairEntry) and not problems:
        problems += _repair_problems(entry, ids)
    if isinstance(entry, ConfirmedEntry) and entry.confirmed in entry.good:
        message = f"{entry.confirmed} cannot be the cause and have turned out good."
        problems.append(Problem(entry.at("good"), "good-and-confirmed", message, "Leave one of the two out."))
    return problems


def answer_words(asked: Finding | HistoryFact) -> dict[str, str]:
    """What each state is called besides its id."""
    return dict(asked.words) if isinstance(asked, Finding) else {}


def _told_ids(entry: Entry) -> Iterator[tuple[str, tuple[type, ...], Mark]]:
    match entry:
        case OpenedEntry():
            yield from ((told, (Fitting,), entry.at("opened")) for told in entry.opened)
        case FindingEntry():
            yield entry.finding, (Finding, HistoryFact), entry.at("finding")
        case FittingEntry():
            yield entry.fitting, (Fitting,), entry.at("fitting")
        case RepairEntry():
            yield from ((told, (Cause, Effect, Part), entry.at("repair")) for told in entry.repair)
            yield from ((told, (AccessStep,), entry.at("disturbed")) for told in entry.disturbed)
        case AccessEntry():
            yield entry.access, (AccessStep,), entry.at("access")
        case TheoryEntry():
            yield entry.theory, (Cause,), entry.at("theory")
            yield from ((told, (Effect,), entry.at("followed")) for told in entry.followed)
            yield from ((told, (Cause, Effect), entry.at("absent")) for told in entry.absent)
        case ConfirmedEntry():
            if entry.confirmed != NOT_FOUND:
                yield entry.confirmed, (Cause,), entry.at("confirmed")
            yield from ((told, (Cause, Effect, Part), entry.at("good")) for told in entry.good)


def _state_problems(entry: FindingEntry, ids: Ids, vehicle: Vehicle) -> Iterator[Problem]:
    asked = ids[entry.finding]
    if not entry.state and isinstance(asked, Finding) and asked.reading:
        yield from _misread(entry, read_text(entry.reading, asked, vehicle), asked.id, "reading")
    elif not entry.state:
        hint = f"Say what it means by a state: --instead {entry.number} {asked.id}=STATE."
        message = f"the reading '{shown(entry.reading)}' of {asked.id} counts for nothing yet."
        yield Problem(entry.at("reading"), "reading-without-state", message, hint, "note")
    elif isinstance(asked, Finding | HistoryFact):
        answer = read_answer(entry.state, asked.states, answer_words(asked))
        if isinstance(answer, Fault):
            message = f"{asked.id}: {answer.message}"
            yield Problem(entry.at("state"), "unknown-state", message, answer.hint)


def _theory_problems(entry: TheoryEntry) -> Iterator[Problem]:
    said = {entry.theory, *entry.followed}
    for told in entry.absent:
        if told in said:
            message = f"the theory says of {told} that it is there and that it is not."
            yield Problem(entry.at("absent"), "theory-against-itself", message, "Leave one of the two out.")
    if len(entry.followed) + len(entry.absent) > MOST_STATEMENTS:
        message = f"a theory of more than {MOST_STATEMENTS} statements beside its cause cannot be weighed."
        yield Problem(entry.at("followed"), "long-theory", message, "Leave out what matters least.")


def _misread(entry: Entry, told: object, name: str, key: str) -> Iterator[Problem]:
    """The problem of a text that measured nothing, at the place in it."""
    if isinstance(told, Misread):
        mark = entry.at(key)
        place = Mark(mark.file, mark.line, mark.column + told.offset)
        yield Problem(place, "wrong-reading", f"{shown(name)}: {shown(told.message)}", shown(told.hint))


def _repair_problems(entry: RepairEntry, ids: Ids) -> Iterator[Problem]:
    """What cannot be repaired: a mechanism is over when what drives it is put right."""
    for told in entry.repair:
        repaired = ids[told]
        if isinstance(repaired, Effect) and repaired.kind == "mechanism":
            message = f"{repaired.id} is no damage: it ends when what drives it is put right."
            yield Problem(entry.at("repair"), "not-repairable", message, "Name the cause, damage or part put right.")


def _when_problems(entry: FindingEntry, circumstances: Circumstances) -> Iterator[Problem]:
    for word in entry.when:
        if word not in circumstances.words:
            hint = did_you_mean(word, circumstances.words) or "Known are the access steps and conditions."
            yield Problem(entry.at("when"), "unknown-circumstance", f"'{shown(word)}' is no circumstance.", hint)
