"""The error of an instrument, and the normal distribution that it and the scatter of readings follow.

The error of a named instrument is one hidden number in standard deviations, cut into nodes half of one apart. A
node stands for a narrow normal density round it, whose variance counts as scatter of each reading; together the nodes
are a standard normal, to better than 5e-3 of its density. With the nodes given everything is exact.
"""

from __future__ import annotations

from functools import cache
from math import erfc, sqrt

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

STEP = 0.5
NODES: Array = np.arange(-4.0, 4.0 + STEP / 2, STEP)
WITHIN_NODE = 0.3**2  # variance round a node, in squared standard deviations

_FAR = 9.0
_TABLE_STEPS = 18_000  # linear between: off by less than 1e-7, in the tails by less than 1e-4 of the value


def below(z: Array) -> Array:
    """P(standard normal <= z), element by element."""
    return np.asarray(np.interp(z, *_table()))


@cache
def _table() -> tuple[Array, Array]:
    at = np.linspace(-_FAR, _FAR, _TABLE_STEPS + 1)
    return at, np.array([0.5 * erfc(-z / sqrt(2.0)) for z in at])


def density(z: Array) -> Array:
    """Density of the standard normal."""
    return np.asarray(np.exp(-0.5 * np.square(z)) / sqrt(2.0 * np.pi))


def node_weights() -> Array:
    """P(error belongs to each node), shape (nodes,)."""
    weights = density(NODES / sqrt(1.0 - WITHIN_NODE))
    return np.asarray(weights / weights.sum())
