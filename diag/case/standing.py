"""Where the vehicle stands after the steps that were recorded, and what can no longer be seen because of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from diag.case.entry import AccessEntry, Entry, FindingEntry
from diag.case.ids import Ids
from diag.knowledge.steps import after, with_needs
from diag.knowledge.types import AccessStep


def standing(entries: Iterable[Entry], ids: Ids) -> dict[str, bool]:
    """The last word on every access step, with what the steps recorded bring about and end besides."""
    access = _access(ids)
    state: dict[str, bool] = {}
    for entry in entries:
        if isinstance(entry, AccessEntry):
            state = after(access, state, ids[entry.access].id, entry.reached)
    return state


def lost(entries: Iterable[Entry], ids: Ids) -> frozenset[str]:
    """Findings that a step took away before anybody saw them, unless a later one brought them back."""
    access = _access(ids)
    state: dict[str, bool] = {}
    seen: set[str] = set()
    gone: set[str] = set()
    for entry in entries:
        if isinstance(entry, FindingEntry):
            seen.add(ids[entry.finding].id)
        elif isinstance(entry, AccessEntry):
            then = after(access, state, ids[entry.access].id, entry.reached)
            gone = _after_step(access, state, then, gone, ids[entry.access].id if entry.reached else None)
            state = then
    return frozenset(gone - seen)


def _after_step(
    access: Mapping[str, AccessStep],
    before: Mapping[str, bool],
    now: Mapping[str, bool],
    gone: set[str],
    step: str | None,
) -> set[str]:
    """What is gone once the state changed: steps undone show again what they hid, steps reached take or bring back."""
    ended = [s for s, on in before.items() if on and not now[s]]
    reached = [s for s in (with_needs(access, (step,)) if step else ()) if not before.get(s)]
    gone = gone - {finding for s in ended for finding in access[s].hides}
    for s in reached:
        gone = (gone - set(access[s].brings_back)) | set(access[s].destroys) | set(access[s].hides)
    return gone


def _access(ids: Ids) -> Mapping[str, AccessStep]:
    return {entry.id: entry for entry in ids.values() if isinstance(entry, AccessStep)}
