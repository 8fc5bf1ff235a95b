"""Why a cause stands where it stands: what each recorded answer does for it, all others kept.

The weight of an answer is 10 log10 of P(answer | others, cause) / P(answer | others, any other cause): decibans.

References
----------
Good 1950, Probability and the Weighing of Evidence (the weight of evidence, here of one answer given the rest).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import inf, log10

import numpy as np
import numpy.typing as npt

from diag.network.diagnosis import Diagnosis
from diag.network.history import history_likelihoods

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Weighed:
    """One answer and its weight for a cause in decibans, below nought against it."""

    finding: str
    decibans: float


def weights_of_evidence(diagnosis: Diagnosis) -> Mapping[str, tuple[Weighed, ...]]:
    """For every state of the cause what each recorded answer weighs for it, the heaviest first."""
    case = diagnosis.case
    full = diagnosis.evidence_given_cause
    table = {finding: _decibans(case.prior, full, without) for finding, without in _left_out(diagnosis)}
    return {
        state: tuple(
            sorted(
                (Weighed(finding, float(row[i])) for finding, row in table.items()),
                key=lambda weighed: (-weighed.decibans, weighed.finding),
            )
        )
        for i, state in enumerate(case.states)
    }


def _left_out(diagnosis: Diagnosis) -> Iterator[tuple[str, Array]]:
    """For each finding and history fact told: P(all other evidence | C), shape (states of C,)."""
    case = diagnosis.case
    for finding in dict.fromkeys(look.finding for look in case.observations.looks):
        rest = {node: v for node, v in case.likelihood.items() if node.partition("~")[0] != finding}
        if len(rest) < len(case.likelihood):
            yield finding, Diagnosis(replace(case, likelihood=rest)).evidence_given_cause
    for fact in dict.fromkeys(look.finding for look in case.observations.history):
        others = [look for look in case.observations.history if look.finding != fact]
        history = history_likelihoods(case.knowledge, case.states, others)
        with np.errstate(divide="ignore", invalid="ignore"):
            told = diagnosis.evidence_given_cause / case.history
        yield fact, np.where(case.history > 0, told, 0.0) * history


def _decibans(prior: Array, full: Array, without: Array) -> Array:
    """Shape (states of C,)."""
    joint, rest = prior * full, prior * without
    return np.array(
        [
            _weight(_ratio(full[i], without[i]), _ratio(joint.sum() - joint[i], rest.sum() - rest[i]))
            for i in range(len(prior))
        ]
    )


def _ratio(above: float, below: float) -> float:
    return float(above / below) if below > 0 else 0.0


def _weight(own: float, others: float) -> float:
    if own <= 0:
        return -inf if others > 0 else 0.0
    return 10 * log10(own / others) if others > 0 else inf
