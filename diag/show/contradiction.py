"""Evidence that nothing known explains: which entries exclude each other."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from diag.case import Entry, FindingEntry
from diag.session import Session
from diag.text import Mark, Problem


def contradiction_problem(session: Session) -> Problem:
    """The entries that exclude each other, as a problem at the first of them."""
    entries = list(_entries(session))
    mark = entries[0].mark if entries else Mark(session.case.file, 1, 1)
    told = ", ".join(f"entry {entry.number} ({entry.finding}={entry.state})" for entry in entries)
    message = f"nothing known explains these together: {told}." if entries else "nothing known explains this case."
    hint = "Dropping any one of them makes it possible: look again, then correct it by 'diag record --instead N'."
    return Problem(mark, "impossible-evidence", message, hint if entries else "")


def contradiction_data(session: Session) -> list[dict[str, Any]]:
    """The same for programs: entry, finding and state of each."""
    return [{"entry": e.number, "finding": e.finding, "state": e.state} for e in _entries(session)]


def _entries(session: Session) -> Iterator[FindingEntry]:
    by_number: dict[int, Entry] = {entry.number: entry for entry in session.case.entries}
    for look in sorted(session.contradiction, key=lambda look: look.entry):
        entry = by_number[look.entry]
        if isinstance(entry, FindingEntry):
            yield entry
