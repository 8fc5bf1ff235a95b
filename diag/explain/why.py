"""Why a cause is likely or not: what raised it, what lowered it, and what would turn the ranking over."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diag.explain.weight import Odds, Weight, weight
from diag.network.case_network import UNLISTED_ID
from diag.network.children import UNLISTED
from diag.network.diagnosis import Diagnosis, Outcomes
from diag.network.leader import leading

Array = npt.NDArray[np.float64]

# An outcome rarer than this nobody waits for.
RARE = 1e-3


@dataclass(frozen=True)
class Turn:
    """One observation after which another cause leads: its probability, by which tests it is seen, who leads then.

    by: ids of the questions and tests that reveal it, in the order of the base.
    """

    finding: str
    state: str
    probability: float
    by: tuple[str, ...]
    leader: str
    leader_probability: float


@dataclass(frozen=True)
class Why:
    """raised and lowered: each finding against the rest, left out alone, the heaviest first. leader: who leads now.

    would_turn: the likeliest single observation after which this cause leads, or, where it leads now, another one;
    None where there is no such observation.
    """

    cause: str
    probability: float
    leader: str
    raised: tuple[Weight, ...]
    lowered: tuple[Weight, ...]
    would_turn: Turn | None


def why(diagnosis: Diagnosis, cause: str, left_out: Mapping[str, Diagnosis]) -> Why:
    """Why ``cause`` stands where it does: a cause, ``nothing_wrong``, a residual cause, or ``unlisted`` for all such.

    left_out: see ``leave_each_out``. Raises KeyError where the cause is none of this case, ImpossibleEvidence.
    """
    states = members(diagnosis, cause)
    after = _odds(diagnosis, states)
    weights = [Weight(finding, weight(after, _odds(other, states))) for finding, other in left_out.items()]
    heaviest = sorted(weights, key=lambda w: (-abs(w.decibans), w.finding))
    return Why(
        cause=cause,
        probability=after[0],
        leader=leading(diagnosis, diagnosis.posterior)[0],
        raised=tuple(w for w in heaviest if w.decibans > 0),
        lowered=tuple(w for w in heaviest if w.decibans < 0),
        would_turn=_turn(diagnosis, cause),
    )


def members(diagnosis: Diagnosis, cause: str) -> tuple[int, ...]:
    """The places of the states of the initiating cause that ``cause`` stands for. Raises KeyError."""
    states = diagnosis.states
    if cause == UNLISTED_ID:
        return tuple(i for i, state in enumerate(states) if state.startswith(UNLISTED))
    if cause not in states:
        raise KeyError(cause)
    return (states.index(cause),)


def _odds(diagnosis: Diagnosis, states: tuple[int, ...]) -> Odds:
    """The probability of these states and of all others; the second is not worked out as 1 minus the first."""
    these = np.isin(np.arange(len(diagnosis.posterior)), states)
    return float(diagnosis.posterior[these].sum()), float(diagnosis.posterior[~these].sum())


def _turn(diagnosis: Diagnosis, cause: str) -> Turn | None:
    now = leading(diagnosis, diagnosis.posterior)[0]
    turns = [t for t in _observations(diagnosis) if (t.leader != now if cause == now else t.leader == cause)]
    return max(turns, key=lambda turn: (turn.probability, turn.finding, turn.state), default=None)


def _observations(diagnosis: Diagnosis) -> Iterator[Turn]:
    """Every state of every open finding and fact, and who would lead after it."""
    base = diagnosis.case.knowledge
    by: dict[str, list[str]] = {}
    tables: dict[str, Array] = {}
    for act, outcome in diagnosis.open_outcomes.items():
        for axis, finding in enumerate(outcome.findings, start=1):
            by.setdefault(finding, []).append(act)
            if finding not in tables:
                tables[finding] = _single(outcome, axis)
    for finding, table in tables.items():
        asked = base.findings.get(finding) or base.history[finding]
        for state, column in zip(asked.states, table.T, strict=True):
            if (chance := float(column.sum())) > RARE:
                yield Turn(finding, state, chance, tuple(by[finding]), *leading(diagnosis, column / chance))


def _single(outcome: Outcomes, axis: int) -> Array:
    """P(c, finding | e) of one finding of a test."""
    others = tuple(a for a in range(1, outcome.joint.ndim) if a != axis)
    return np.asarray(outcome.joint.sum(others))
