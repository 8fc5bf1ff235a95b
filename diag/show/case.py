"""A case at a glance: its entries numbered, what the vehicle is and where it stands, what is open."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from diag.case import (
    AccessEntry,
    Case,
    CheckEntry,
    Circumstances,
    ConfirmedEntry,
    Entry,
    FindingEntry,
    FittingEntry,
    OpenedEntry,
    RepairEntry,
    SettingEntry,
    SpecEntry,
    TheoryEntry,
    UndoEntry,
    in_force,
)
from diag.case.layout import KINDS, own_fields
from diag.knowledge.types import Finding, Knowledge
from diag.network.observations import Observations
from diag.show.as_json import plain
from diag.show.page import Page
from diag.show.problems import add_problems, problems_data
from diag.text import Problem

_KEYS = {kind: key for key, kind in KINDS.items()}


def entry_data(entry: Entry, counts: bool) -> dict[str, Any]:
    """One entry; ``counts`` says whether it is in force."""
    own = {field.name: plain(getattr(entry, field.name)) for field in own_fields(type(entry))}
    common = {"time": entry.time, "by": entry.by, "note": entry.note, "instead": entry.instead}
    return {"number": entry.number, "kind": _KEYS[type(entry)], "in_force": counts, **own, **common}


def entry_text(entry: Entry, knowledge: Knowledge | None = None) -> str:
    """One entry in words; with ``knowledge`` findings have their names."""
    match entry:
        case OpenedEntry():
            return "opened" + _fittings(entry)
        case FindingEntry():
            return _finding(entry, knowledge)
        case FittingEntry():
            return f"{entry.fitting}: {_flag(entry.fitted)}"
        case UndoEntry():
            return f"takes back entry {entry.undo}"
        case RepairEntry():
            return _repair(entry)
        case AccessEntry():
            return f"{entry.access}: {'reached' if entry.reached else 'undone'}"
        case SettingEntry():
            return f"setting {entry.setting} = {entry.value}"
        case TheoryEntry():
            return theory_text(entry.theory, entry.followed, entry.absent)
        case SpecEntry():
            return f"this vehicle's own figure: {entry.spec} = {entry.value}"
        case CheckEntry():
            return f"check of {entry.check}: {entry.value}"
        case ConfirmedEntry():
            good = f"; turned out good: {', '.join(entry.good)}" if entry.good else ""
            return f"confirmed: {entry.confirmed}" + (f" - {entry.seen}" if entry.seen else "") + good
    raise AssertionError(f"no words for {type(entry).__name__}")


def theory_text(cause: str, followed: Sequence[str], absent: Sequence[str]) -> str:
    """A theory in the words of the command."""
    after = f", then {', '.join(followed)}" if followed else ""
    missing = f"; not there: {', '.join(absent)}" if absent else ""
    return f"theory: {cause}{after}{missing}"


def _repair(entry: RepairEntry) -> str:
    told = f"repaired: {', '.join(entry.repair)}"
    if entry.how_well != "usual":
        told += f", {entry.how_well.replace('_', ' ')}"
    if entry.disturbed:
        told += f"; also done: {', '.join(entry.disturbed)}"
    if entry.before_case:
        told += " (before this case" + (f", it was {entry.changed} after)" if entry.changed != "not_told" else ")")
    return told


def _fittings(entry: OpenedEntry) -> str:
    told = [fitting if has else f"no {fitting}" for fitting, has in entry.opened.items()]
    return f", fitted: {', '.join(told)}" if told else ""


def _flag(fitted: bool | None) -> str:
    return "not known" if fitted is None else "fitted" if fitted else "not fitted"


def _finding(entry: FindingEntry, knowledge: Knowledge | None) -> str:
    known = knowledge and (knowledge.findings.get(entry.finding) or knowledge.history.get(entry.finding))
    parts = [f"{entry.finding}={entry.state or entry.reading}"]
    if known:
        parts.append(f"({known.name})")
    if not entry.state and not (isinstance(known, Finding) and known.reading):
        parts.append("- a reading, counts for nothing until a state is told")
    if entry.complaint:
        parts.append("- the complaint")
    if entry.when:
        parts.append(f"- when {', '.join(entry.when)}")
    if entry.when and knowledge and entry.finding in knowledge.findings:
        parts.append(_trust(entry, knowledge))
    if entry.with_instrument:
        parts.append(f"- with {entry.with_instrument}")
    return " ".join(part for part in parts if part)


def _trust(entry: FindingEntry, knowledge: Knowledge) -> str:
    """What the circumstance does to the answer; nothing where it was the right one."""
    condition = knowledge.findings[entry.finding].condition
    trust = Circumstances.of(knowledge).trust(entry.when, condition)
    names = ", ".join(knowledge.access[step].name if step in knowledge.access else step for step in condition)
    if trust >= 1.0:
        return ""
    counts = "counts for nothing" if trust == 0.0 else "counts less"
    return f"- {counts}, for it means something only so: {names}"


def add_entry(page: Page, entry: Entry, counts: bool, knowledge: Knowledge | None = None) -> None:
    """One numbered line; what is out of force says so."""
    corrects = f" - instead of entry {entry.instead}" if entry.instead else ""
    who = f" - told by {entry.by}" if entry.by else ""
    note = f" - note: {entry.note}" if entry.note else ""
    apart = "" if counts else "[out of force] "
    page.say(f"{apart}{entry_text(entry, knowledge)}{corrects}{who}{note}", 2, f"{entry.number:3}.")


def status_data(
    case: Case, knowledge: Knowledge, seen: Observations, stage: int, open_questions: int, problems: Sequence[Problem]
) -> dict[str, Any]:
    """The fields of ``diag status --json``."""
    live = {entry.number for entry in in_force(case)}
    complaint = _complaint(case)
    return {
        "file": case.file,
        "vehicle": case.vehicle,
        "knowledge": knowledge.version,
        "stage": stage,
        "entries": [entry_data(e, e.number in live or isinstance(e, UndoEntry)) for e in case.entries],
        "complaint": entry_data(complaint, True) if complaint else None,
        "fitted": dict(seen.fitted),
        "access": dict(seen.access),
        "gone": sorted(seen.gone),
        "confirmed": seen.confirmed,
        "open_questions": open_questions,
        "problems": problems_data(problems),
    }


def _complaint(case: Case) -> FindingEntry | None:
    told = (entry for entry in in_force(case) if isinstance(entry, FindingEntry) and entry.complaint)
    return next(told, None)


def status_page(
    case: Case, knowledge: Knowledge, seen: Observations, stage: int, open_questions: int, problems: Sequence[Problem]
) -> Page:
    """The case in words."""
    live = {entry.number for entry in in_force(case)}
    complaint = _complaint(case)
    page = Page()
    page.title(f"{case.vehicle} ({case.file})")
    page.say(f"Complaint: {_named(knowledge, complaint) if complaint else 'none told yet'}")
    page.say(f"Stage {stage}. {_outcome(knowledge, seen)}")
    page.title("Entries")
    for entry in case.entries:
        add_entry(page, entry, entry.number in live or isinstance(entry, UndoEntry), knowledge)
    page.title("The vehicle stands")
    page.say(", ".join(_access(knowledge, seen)) or "nothing told", 2)
    if seen.gone:
        page.title("Can never be seen now")
        page.say(", ".join(sorted(seen.gone)), 2)
    page.title("Open")
    page.say(f"{open_questions} questions without an answer; 'diag next' tells which is worth asking.", 2)
    if problems:
        page.title("Not right in this case")
        add_problems(page, problems)
    return page


def _named(knowledge: Knowledge, entry: FindingEntry) -> str:
    known = knowledge.findings.get(entry.finding)
    return f"{known.name if known else entry.finding} ({entry.finding}={entry.state})"


def _outcome(knowledge: Knowledge, seen: Observations) -> str:
    if seen.confirmed is None:
        return "The cause is not confirmed yet."
    cause = knowledge.causes.get(seen.confirmed)
    return f"Confirmed: {cause.name}." if cause else "Closed; the cause was not found."


def _access(knowledge: Knowledge, seen: Observations) -> list[str]:
    steps = ((knowledge.access[step], reached) for step, reached in seen.access.items())
    return [f"{'' if reached else 'not: '}{step.name} ({step.id})" for step, reached in steps]
