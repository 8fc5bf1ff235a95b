"""Which entries of a log count: undo and correction resolved."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from diag.case.entry import Case, Entry, OpenedEntry, UndoEntry
from diag.text import Problem


class _Reference(NamedTuple):
    """Entry ``entry`` names entry ``number`` after ``key``; ``fault`` says why it cannot, or is empty."""

    entry: Entry
    key: str
    number: int
    fault: str


def in_force(case: Case) -> tuple[Entry, ...]:
    """The entries that count, undo entries left out; a correction stands where the corrected one stood.

    An entry is out of force while an undo that is itself in force names it, or while a later correction
    of the same first entry is in force. References that ``reference_problems`` complains of do nothing.
    """
    undoes = {ref.entry.number: ref.number for ref in _references(case) if ref.key == "undo" and not ref.fault}
    roots = _roots(case)
    undone: set[int] = set()
    replaced: set[int] = set()
    kept: list[Entry] = []
    for entry in reversed(case.entries):
        number, root = entry.number, roots[entry.number]
        if number in undone or root in replaced:
            continue
        if isinstance(entry, UndoEntry):
            undone.add(undoes.get(number, number))
            continue
        if root != number:
            replaced.add(root)
        kept.append(entry)
    return tuple(sorted(kept, key=lambda entry: roots[entry.number]))


def reference_problems(case: Case) -> list[Problem]:
    """What is wrong with the numbers after ``undo`` and ``instead``."""
    hint = "Look up the numbers in 'diag status'."
    return [
        Problem(ref.entry.at(ref.key), "case-reference", f"{ref.key}: {ref.fault}", hint)
        for ref in _references(case)
        if ref.fault
    ]


def last_in_force(case: Case) -> Entry | None:
    """The entry told last of those in force, the opening left out: what a plain undo takes back."""
    kept = [entry for entry in in_force(case) if not isinstance(entry, OpenedEntry)]
    return max(kept, key=lambda entry: entry.number, default=None)


def _roots(case: Case) -> Mapping[int, int]:
    """The number of each entry -> the number of the entry that it, over any corrections, stands for."""
    roots = {entry.number: entry.number for entry in case.entries}
    for ref in _references(case):
        if ref.key == "instead" and not ref.fault:
            roots[ref.entry.number] = roots[ref.number]
    return roots


def _references(case: Case) -> Iterator[_Reference]:
    earlier: dict[int, Entry] = {}
    for entry in case.entries:
        if entry.instead is not None:
            fault = _fault_of_instead(entry, earlier.get(entry.instead), entry.instead)
            yield _Reference(entry, "instead", entry.instead, fault)
        if isinstance(entry, UndoEntry):
            yield _Reference(entry, "undo", entry.undo, _fault(earlier.get(entry.undo), entry.undo))
        earlier[entry.number] = entry


def _fault_of_instead(entry: Entry, target: Entry | None, number: int) -> str:
    if isinstance(entry, UndoEntry):
        return "an undo cannot stand instead of another entry."
    if isinstance(target, UndoEntry):
        return f"entry {number} is an undo; take it back by 'undo'."
    return _fault(target, number)


def _fault(target: Entry | None, number: int) -> str:
    if target is None:
        return f"there is no entry {number} before this one."
    if isinstance(target, OpenedEntry):
        return f"entry {number} opens the case; it cannot be taken back or corrected."
    return ""
