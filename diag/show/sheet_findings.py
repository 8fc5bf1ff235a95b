"""What was said and found, for the sheet: every answer that counts, those taken back, the tests they come from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from diag.case import ConfirmedEntry, FindingEntry, RepairEntry, in_force
from diag.case.entry import GONE, UNSURE
from diag.knowledge.types import Finding, HistoryFact, TestEntry
from diag.session import Session
from diag.show.case import entry_text
from diag.show.names import word
from diag.show.readings import meaning


@dataclass(frozen=True, slots=True)
class Answered:
    """One recorded answer: its number in the case, what was asked, what came out, and the small print."""

    number: int
    id: str
    name: str
    answer: str
    reading: str
    details: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DoneTest:
    """A test all of whose findings have an answer, with what that answer looks like and what may mislead."""

    id: str
    name: str
    shows: tuple[str, ...]
    misleads: str


def complaint(session: Session) -> tuple[str, ...]:
    """What the vehicle came in for."""
    told = (e for e in in_force(session.case) if isinstance(e, FindingEntry) and e.complaint)
    return tuple(f"{_name(session, entry)}: {_answer(session, entry)}" for entry in told)


def answers(session: Session) -> tuple[Answered, ...]:
    """Every answer in force, in the order of the case."""
    return tuple(_answered(session, e) for e in in_force(session.case) if isinstance(e, FindingEntry))


def taken_back(session: Session) -> tuple[Answered, ...]:
    """Answers that were corrected or taken back."""
    kept = {entry.number for entry in in_force(session.case)}
    gone = (e for e in session.case.entries if isinstance(e, FindingEntry) and e.number not in kept)
    return tuple(_answered(session, entry) for entry in gone)


def beside(session: Session) -> tuple[str, ...]:
    """What else the case file tells in force: what the vehicle has, its own figures, where it stands, theories."""
    shown = (FindingEntry, RepairEntry, ConfirmedEntry)
    rest = [entry for entry in in_force(session.case) if not isinstance(entry, shown)]
    told = ((entry_text(entry, session.knowledge), entry.note) for entry in rest)
    return tuple(f"{text} - note: {note}" if note else text for text, note in told)


def done_tests(session: Session) -> tuple[DoneTest, ...]:
    """The tests all that they show of which is told; which of them was done to see it, the case does not say."""
    told = {entry.finding: entry.state for entry in in_force(session.case) if isinstance(entry, FindingEntry)}
    seen = {finding: state for finding, state in told.items() if state and state != GONE}
    tests = session.knowledge.tests.values()
    return tuple(_done(session, test, seen) for test in tests if seen.keys() >= set(test.reveals))


def _done(session: Session, test: TestEntry, seen: dict[str, str]) -> DoneTest:
    shows = []
    for finding in test.reveals:
        state = _state(seen[finding])
        looks = test.outcomes.get(finding, {}).get(state) or word(session.knowledge, finding, state)
        shows.append(f"{session.knowledge.findings[finding].name}: {looks}")
    return DoneTest(test.id, test.name, tuple(shows), test.misleads)


def _answered(session: Session, entry: FindingEntry) -> Answered:
    return Answered(
        number=entry.number,
        id=entry.finding,
        name=_name(session, entry),
        answer=_answer(session, entry),
        reading=entry.reading,
        details=tuple(_details(session, entry)),
    )


def _details(session: Session, entry: FindingEntry) -> Iterator[str]:
    yield from (meaning(session.knowledge, one) for one in session.readings if entry.number == one.entries[-1])
    if entry.complaint:
        yield "the complaint"
    if entry.with_instrument:
        yield f"with {entry.with_instrument}"
    if entry.when:
        access = session.knowledge.access
        yield f"when {', '.join(access[step].name if step in access else step for step in entry.when)}"
    if entry.by:
        yield f"told by {entry.by}"
    if entry.time:
        yield entry.time[:16].replace("T", " ")
    if entry.note:
        yield f"note: {entry.note}"


def _entry_of(session: Session, id: str) -> Finding | HistoryFact | None:
    return session.knowledge.findings.get(id) or session.knowledge.history.get(id)


def _name(session: Session, entry: FindingEntry) -> str:
    known = _entry_of(session, entry.finding)
    return known.name if known else entry.finding


def _answer(session: Session, entry: FindingEntry) -> str:
    """The state in words; a bare reading counts for nothing until a state is told."""
    if entry.state == GONE:
        return "can never be seen now"
    if not entry.state:
        return "a reading"
    state = word(session.knowledge, entry.finding, _state(entry.state))
    return f"unsure, rather {state}" if entry.state.startswith(f"{UNSURE}:") else state


def _state(text: str) -> str:
    """The state in ``STATE``, ``unsure:STATE`` or ``unsure:STATE:0.7``."""
    return text.split(":")[1] if text.startswith(f"{UNSURE}:") else text
