"""A theory and what it says, and how probable that is, each of its statements true or not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from diag.network.diagnosis import Diagnosis
from diag.network.inference import ImpossibleEvidence

Array = npt.NDArray[np.float64]

# What is less probable than this cannot be reckoned with any more: it counts as impossible.
IMPOSSIBLE = 1e-200


@dataclass(frozen=True)
class Theory:
    """An initiating cause. followed: effects said to be there. absent: causes and effects said not to be there."""

    cause: str
    followed: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Stated:
    """What a theory speaks of in one state of a case.

    said: each of its statements, its own cause last as a fault that is there; a fault that this vehicle cannot have
    is left out, for it is absent anyway. table: P(C, statements | e), shape (states of C, 2, 2, ...), one axis (not
    there, there) a statement.
    """

    diagnosis: Diagnosis
    theory: Theory
    said: Mapping[str, bool]
    table: Array

    @property
    def place(self) -> int | None:
        """Of the theory's cause among the states of C; None where this vehicle cannot have it."""
        return self.place_of(self.theory.cause)

    def place_of(self, cause: str) -> int | None:
        """Of a cause among the states of C."""
        states = self.diagnosis.case.states
        return states.index(cause) if cause in states else None

    @property
    def probability(self) -> float:
        """Of the whole theory."""
        return self.of(self.theory.cause, self.said)

    def of(self, cause: str, said: Mapping[str, bool]) -> float:
        """Of this initiating cause with the statements so; 0 where the vehicle cannot have it."""
        place = self.place_of(cause)
        return 0.0 if place is None else float(self.table[(place, *(int(there) for there in said.values()))])

    def of_all_causes(self, said: Mapping[str, bool]) -> float:
        """Of the statements so, whatever began it."""
        cell: Any = (..., *(int(there) for there in said.values()))
        return float(self.table[cell].sum())


def state(diagnosis: Diagnosis, theory: Theory) -> Stated:
    """Look at a theory in one state of a case; it is about how the trouble started, whatever was repaired since.

    Raises ImpossibleEvidence, CliqueTooLarge.
    """
    faults = diagnosis.case.faults
    there = dict.fromkeys(theory.followed, True) | dict.fromkeys(theory.absent, False) | {theory.cause: True}
    said = {node: yes for node, yes in there.items() if node in faults}
    table = diagnosis.with_initiating([tuple(said)])[0]
    total = table.sum()
    if not total > 0:
        raise ImpossibleEvidence("nothing known explains all that was recorded")
    table = table / total
    for axis in range(1, table.ndim):
        table = np.add.reduceat(table, [0, 1], axis)
    return Stated(diagnosis, theory, said, table)


def supposing(diagnosis: Diagnosis, said: Mapping[str, bool]) -> Diagnosis:
    """The case were it known of these effects and faults whether they are there."""
    case = diagnosis.case
    told = dict(case.likelihood)
    for node, there in said.items():
        sound = np.eye(case.faults.card(node))[0]
        told[node] = told.get(node, 1.0) * (1.0 - sound if there else sound)
    return Diagnosis(replace(case, likelihood=told))
