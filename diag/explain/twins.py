"""Causes that no open question or test can part: shown as one group."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from diag.network.diagnosis import Diagnosis, Outcomes

# Two causes are twins where no open test has outcome probabilities that differ by more than this (total variation).
ALIKE = 0.05
# Causes below this probability are not worth grouping.
SHOWN = 0.01


def twins(diagnosis: Diagnosis, outcomes: Iterable[Outcomes]) -> tuple[tuple[str, ...], ...]:
    """Groups of likely causes, two or more each, that all open tests see alike; the likeliest first."""
    posterior = diagnosis.posterior
    likely = [i for i in np.argsort(-posterior, kind="stable").tolist() if posterior[i] >= SHOWN]
    apart = _largest_difference(likely, posterior, outcomes)
    groups: list[list[int]] = []
    for place, cause in enumerate(likely):
        for group in groups:
            if all(apart[place, likely.index(other)] <= ALIKE for other in group):
                group.append(cause)
                break
        else:
            groups.append([cause])
    return tuple(tuple(diagnosis.states[i] for i in group) for group in groups if len(group) > 1)


def _largest_difference(likely: list[int], posterior: np.ndarray, outcomes: Iterable[Outcomes]) -> np.ndarray:
    """Shape (likely, likely): the largest total variation between two causes over all tests."""
    apart = np.zeros((len(likely), len(likely)))
    for outcome in outcomes:
        given = outcome.joint.reshape(len(posterior), -1)[likely] / posterior[likely][:, None]
        apart = np.maximum(apart, np.abs(given[:, None, :] - given[None, :, :]).sum(2) / 2)
    return apart
