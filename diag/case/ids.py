"""The ids of a knowledge base, as a case uses them: present and former ones, and what each is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from diag.case.scalar import shown
from diag.knowledge.types import (
    AccessStep,
    Cause,
    Effect,
    Entry,
    Finding,
    Fitting,
    HistoryFact,
    Knowledge,
    Part,
    TestEntry,
)
from diag.text import Mark, Problem, did_you_mean

Ids = Mapping[str, Entry]

_KIND_WORDS: Mapping[type[Entry], str] = {
    Cause: "a cause",
    Effect: "an effect",
    Finding: "a finding",
    HistoryFact: "a history fact",
    Fitting: "a fitting",
    AccessStep: "an access step",
    TestEntry: "a test",
    Part: "a part",
}


def ids_of(knowledge: Knowledge) -> Ids:
    """Every id, every former id that is not in use again, and every short id of a reading -> its entry."""
    rooms: tuple[Mapping[str, Entry], ...] = (
        knowledge.causes,
        knowledge.effects,
        knowledge.findings,
        knowledge.history,
        knowledge.fittings,
        knowledge.access,
        knowledge.tests,
        knowledge.parts,
    )
    entries = [entry for room in rooms for entry in room.values()]
    former = {old: entry for entry in entries for old in entry.formerly}
    short: Ids = {f.reading.short: f for f in knowledge.findings.values() if f.reading}
    return {**short, **former, **{entry.id: entry for entry in entries}}


def id_problem(ids: Ids, told: str, wanted: tuple[type[Entry], ...], mark: Mark) -> Problem | None:
    """Why ``told`` cannot stand where one of the ``wanted`` kinds is expected, or None."""
    entry = ids.get(told)
    if isinstance(entry, wanted):
        return None
    *more, last = (_KIND_WORDS[kind] for kind in wanted)
    asked = f"{', '.join(more)} or {last}" if more else last
    if entry is not None:
        message = f"'{shown(told)}' is {_KIND_WORDS[type(entry)]}; {asked} is expected here."
        return Problem(mark, "wrong-kind", message, _other_hint(entry))
    hint = did_you_mean(told, _known(ids, wanted)) or "Look for it by 'diag find WORDS'."
    return Problem(mark, "unknown-id", f"there is no '{shown(told)}'; {asked} is expected here.", hint)


def _known(ids: Ids, wanted: tuple[type[Entry], ...]) -> Iterable[str]:
    return (entry.id for entry in ids.values() if isinstance(entry, wanted))


def _other_hint(entry: Entry) -> str:
    if isinstance(entry, TestEntry):
        return f"Record what it reveals: {', '.join(entry.reveals)}."
    if isinstance(entry, Cause | Effect):
        shown = dict.fromkeys(link.child for link in entry.shows)
        return f"Record what shows it: {', '.join(shown)}." if shown else ""
    return ""
