"""Twin cases as observations, to be played."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from diag.case import Case, as_entries, observe
from diag.knowledge.types import Knowledge, Told, Twin
from diag.network.observations import Observations


@dataclass(frozen=True)
class TwinCase:
    """One of the two cases of ``twin``. ``leader`` must come first in it."""

    twin: Twin
    leader: str
    observations: Observations

    @property
    def is_first(self) -> bool:
        """Whether it is the case in which the cause itself comes first."""
        return self.leader == self.twin.id


def twin_cases(knowledge: Knowledge) -> Iterator[TwinCase]:
    """Every case that can be played, by cause, ``first`` before ``not_first``; what is misspelt is left out."""
    for twin in knowledge.twins.values():
        for leader, told in ((twin.id, twin.first), (twin.instead, twin.not_first)):
            observations = observed(knowledge, told)
            if observations is not None:
                yield TwinCase(twin, leader, observations)


def observed(knowledge: Knowledge, told: tuple[Told, ...]) -> Observations | None:
    """What is told, as ``diag record`` takes it; None where nothing is told, or something that the base has not."""
    empty = Case(file="twins.yaml", vehicle="", entries=())
    entries, found = as_entries(empty, knowledge, [f"{answer.id}={answer.state}" for answer in told])
    observations, more = observe(entries, knowledge)
    return None if not told or any(problem.severity == "error" for problem in (*found, *more)) else observations
