"""The error of an instrument, and the normal distribution that it and the scatter of readings follow.

The error of a named instrument is one hidden number in standard deviations. It is cut into cells of half a standard
deviation; a cell stands for all in it, and what lies within the cell counts as scatter. With the cells given everything
is exact.
"""

from __future__ import annotations

from math import erf, sqrt

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

STEP = 0.5
NODES: Array = np.arange(-3.0, 3.0 + STEP / 2, STEP)
WITHIN_CELL = STEP**2 / 12.0  # variance inside a cell, in squared standard deviations

_erf = np.frompyfunc(erf, 1, 1)


def below(z: Array) -> Array:
    """P(standard normal <= z), element by element."""
    return np.asarray(0.5 * (1.0 + np.asarray(_erf(np.asarray(z) / sqrt(2.0)), dtype=float)))


def density(z: Array) -> Array:
    """Density of the standard normal."""
    return np.asarray(np.exp(-0.5 * np.square(z)) / sqrt(2.0 * np.pi))


def node_weights() -> Array:
    """P(error lies in the cell of each node), shape (nodes,); the outer cells take the tails."""
    edges = (NODES[1:] + NODES[:-1]) / 2
    return np.diff(below(edges), prepend=0.0, append=1.0)
