"""Weight of evidence in decibans: ten times the logarithm to base ten of a likelihood ratio.

References
----------
Good 1950, Probability and the Weighing of Evidence, ch. 6. One deciban is about the least that a person can feel.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import log10

from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.observations import Look, Observations

# Stands for proof, where one side of a ratio is nought; no evidence weighs more.
PROOF = 1000.0

Odds = tuple[float, float]


@dataclass(frozen=True)
class Weight:
    """A finding and what it weighs, in decibans; above 0 speaks for."""

    finding: str
    decibans: float


def log_odds(odds: Odds) -> float:
    """Ten times log10 of the first over the second; 0 where both are nought."""
    first, second = odds
    if not first > 0:
        return -PROOF if second > 0 else 0.0
    return min(max(10 * log10(first / second), -PROOF), PROOF) if second > 0 else PROOF


def weight(after: Odds, before: Odds) -> float:
    """What the evidence between ``before`` and ``after`` weighs, in decibans; from -PROOF to PROOF."""
    return min(max(log_odds(after) - log_odds(before), -PROOF), PROOF)


def told(observations: Observations) -> dict[str, tuple[Look, ...]]:
    """The looks that count at each finding and history fact, in the order of the first one at it."""
    found: dict[str, tuple[Look, ...]] = {}
    for look in (*observations.looks, *observations.history):
        if look.likelihood is not None:
            found[look.finding] = (*found.get(look.finding, ()), look)
    return found


def leave_each_out(diagnosis: Diagnosis) -> Mapping[str, Diagnosis]:
    """For every finding told: the same case, had nobody told it. All looks at it go together."""
    case = diagnosis.case
    return {f: Diagnosis(compile_case(case.knowledge, _without(case.observations, f))) for f in told(case.observations)}


def nothing_told(diagnosis: Diagnosis) -> Diagnosis:
    """The same vehicle before anything was found."""
    case = diagnosis.case
    empty = replace(case.observations, looks=(), history=(), gone=frozenset(), mended=())
    return Diagnosis(compile_case(case.knowledge, empty))


def _without(observations: Observations, finding: str) -> Observations:
    looks = tuple(look for look in observations.looks if look.finding != finding)
    history = tuple(look for look in observations.history if look.finding != finding)
    return replace(observations, looks=looks, history=history)
