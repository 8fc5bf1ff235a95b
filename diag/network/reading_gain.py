"""What a test tells whose answer is a figure: states seen through P(reading | state)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from diag.measure.channel import channel
from diag.network.case_network import CaseNetwork

Array = npt.NDArray[np.float64]

_MOST_OUTCOMES = 200_000  # of several figures together; beyond it the later ones count as plain answers


def channels_of(case: CaseNetwork, findings: Sequence[str]) -> tuple[Array | None, ...]:
    """P(reading | state), shape (states, readings), of each finding; None where a person just answers."""
    told: list[Array | None] = []
    outcomes = 1
    for name in findings:
        finding = case.knowledge.findings.get(name)
        found = channel(finding, case.observations.vehicle) if finding and finding.reading else None
        if found is not None and outcomes * found.shape[1] > _MOST_OUTCOMES:
            found = None
        outcomes *= found.shape[1] if found is not None else len(finding.states) if finding else 2
        told.append(found)
    return tuple(told)


def through_channels(joint: Array, channels: Sequence[Array | None]) -> Array:
    """P(c, readings) from P(c, states), shape (states of C, ...); axes without a channel stay."""
    for axis, table in enumerate(channels, start=1):
        if table is not None:
            joint = np.moveaxis(np.tensordot(joint, table, axes=(axis, 0)), -1, axis)
    return joint
