"""Entropy and expected information gain, in bits.

References
----------
Shannon 1948; Lindley 1956, On a measure of the information provided by an experiment, Ann. Math. Stat. 27.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import prod

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

ROUNDING = 1e-12


class NegativeGain(ArithmeticError):
    """A gain below zero by more than rounding: the joint distribution it was made from is wrong."""


def entropy(probabilities: Array) -> float:
    """Entropy of a distribution of any shape, in bits; 0 log 0 is 0."""
    p = probabilities[probabilities > 0]
    return float(-(p * np.log2(p)).sum())


def expected_information_gain(joint: Array) -> float:
    """I(X; T) in bits from P(x, t).

    joint: shape (X, ...), the first axis the target, all others the outcome of the test; adds up to 1.
    Between -1e-12 and 0 is rounding and comes out as 0; below raises NegativeGain.
    """
    table = joint.reshape(joint.shape[0], -1)
    target, outcome = table.sum(1), table.sum(0)
    gain = entropy(target) + entropy(outcome) - entropy(table)
    if gain < -ROUNDING:
        raise NegativeGain(f"expected information gain of {gain} bit")
    return max(gain, 0.0)


def target_and_test(table: Array, targets: int, shown: Sequence[int]) -> Array:
    """P(target, test) from P(target, what the test hides), where the test also shows parts of the target itself.

    table: one axis a target node, then the others; shown: the target axes that the test shows.
    """
    states = table.shape[:targets]
    flat = table.reshape(prod(states), -1)
    seen = np.zeros(len(flat), dtype=int)
    for axis in shown:
        seen = seen * states[axis] + np.unravel_index(np.arange(len(flat)), states)[axis]
    joint = np.zeros((len(flat), int(seen.max()) + 1, flat.shape[1]))
    joint[np.arange(len(flat)), seen] = flat
    return joint.reshape(len(flat), -1)
