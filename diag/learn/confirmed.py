"""Case files that can be learnt from: closed ones, with what was seen before the first repair."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from diag.case import Case, ConfirmedEntry, Entry, RepairEntry, in_force, observe, reference_problems
from diag.case import load as load_case
from diag.case.layout import block
from diag.knowledge.types import Knowledge
from diag.network.observations import Observations
from diag.text import ProblemsFound


@dataclass(frozen=True)
class ClosedCase:
    """What one case teaches from. ``digest`` is of its content; ``cause`` an id, or None: it was not found."""

    digest: str
    file: str
    observations: Observations
    cause: str | None


@dataclass(frozen=True, order=True)
class Refused:
    """A file that is not learnt from, and why."""

    file: str
    why: str


def read_closed(path: Path, knowledge: Knowledge) -> ClosedCase | Refused:
    """The case in a file, or why it teaches nothing."""
    try:
        return closed_case(load_case(path), knowledge)
    except ProblemsFound as error:
        return Refused(path.as_posix(), error.problems[0].message)


def closed_case(case: Case, knowledge: Knowledge) -> ClosedCase | Refused:
    """A case in memory, or why it teaches nothing."""
    live = in_force(case)
    told = tuple(_before_repairs(live))
    observations, problems = observe([*told, *(e for e in live if isinstance(e, ConfirmedEntry))], knowledge)
    wrong = [problem for problem in (*reference_problems(case), *problems) if problem.severity == "error"]
    if wrong:
        return Refused(case.file, f"it has an entry that this base does not know: {wrong[0].message}")
    if observations.confirmed is None:
        return Refused(case.file, "its cause is not confirmed; close it with 'diag confirm', or with not_found.")
    cause = observations.confirmed if observations.confirmed in knowledge.causes else None
    content = f"{case.vehicle}\n{block(told)}\n{observations.confirmed}"
    return ClosedCase(sha256(content.encode()).hexdigest()[:16], case.file, observations, cause)


def _before_repairs(entries: Iterable[Entry]) -> Iterator[Entry]:
    """What was seen of the trouble as it came in; what comes after a repair is of another state of the vehicle."""
    for entry in entries:
        if isinstance(entry, RepairEntry) and not entry.before_case:
            return
        if not isinstance(entry, ConfirmedEntry):
            yield entry
