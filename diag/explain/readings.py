"""What the readings of a case were taken to mean: how much likelier they are with something behind them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diag.case import Measured, readings_in
from diag.case.entry import Case
from diag.case.ids import ids_of
from diag.case.in_force import in_force
from diag.case.measured import vehicle_in
from diag.knowledge.types import Finding, Knowledge
from diag.measure.meaning import taken_as
from diag.network.children import Parent, parents_of

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Meant:
    """Readings of one finding, by the numbers of their entries, and what they mean.

    taken_as: one phrase a reading. likelihood: by state, the greatest 1. points_to: the cause or effect that alone
    makes them likeliest, and by which factor against nothing behind them; against: the one making them least likely.
    """

    entries: tuple[int, ...]
    finding: str
    taken_as: tuple[str, ...]
    likelihood: dict[str, float]
    points_to: tuple[str, float] | None
    against: tuple[str, float] | None


def meant_readings(case: Case, knowledge: Knowledge) -> tuple[Meant, ...]:
    """All readings that count in a case."""
    vehicle = vehicle_in(in_force(case), ids_of(knowledge))
    parents = parents_of(knowledge)
    return tuple(
        _meant(told, [taken_as(told.finding, one, vehicle) for one in told.taken], parents[told.finding.id], knowledge)
        for told in readings_in(case, knowledge)
    )


def _meant(told: Measured, phrases: Sequence[str], parents: Sequence[Parent], knowledge: Knowledge) -> Meant:
    likelihood = np.array(told.likelihood)
    named = [parent for parent in parents if parent.id in knowledge.causes or parent.id in knowledge.effects]
    ratios = sorted((ratio, name) for p in named for name, ratio in _ratios(told.finding, p, likelihood))
    return Meant(
        entries=tuple(entry.number for entry in told.entries),
        finding=told.finding.id,
        taken_as=tuple(phrases),
        likelihood=dict(zip(told.finding.states, likelihood.tolist(), strict=True)),
        points_to=(ratios[-1][1], ratios[-1][0]) if ratios else None,
        against=(ratios[0][1], ratios[0][0]) if ratios else None,
    )


def _ratios(finding: Finding, parent: Parent, likelihood: Array) -> Iterator[tuple[str, float]]:
    """P(readings | this parent alone) / P(readings | nothing but chance), for each of its states but the sound one."""
    alarm = {state: number.value for state, number in finding.false_alarm.items()}
    chance = _spread_over(finding, alarm) @ likelihood
    for strengths in parent.strengths.values():
        alone = _spread_over(finding, {state: number.value for state, number in strengths.items()}) @ likelihood
        yield parent.id, float(alone / chance)


def _spread_over(finding: Finding, shares: dict[str, float]) -> Array:
    """Shares of the states; the ordinary one takes what is left."""
    told = np.array([shares.get(state, 0.0) for state in finding.states])
    told[0] = max(1.0 - told[1:].sum(), 0.0)
    return told
