"""What counts make of a number of the base: Beta and Dirichlet posteriors, and the counts that a number is worth.

References
----------
Gelman et al. 2013, Bayesian Data Analysis, 3rd ed., sections 2.4 and 3.4 (conjugate updating).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import Number

Array = npt.NDArray[np.float64]

INTERVAL = 0.9  # probability inside the intervals that are shown
# A range LOW..HIGH of a judgement is taken to reach two standard deviations to either side.
RANGE_IN_DEVIATIONS = 4.0
LEAST_SIZE = 2.0  # as much as a flat prior: a range as wide as can be is worth no less
ROOM = 1e-6  # what a probability keeps from nought and one, so that a case can speak against it


@dataclass(frozen=True)
class Beta:
    """A Beta distribution by its two counts, both above 0."""

    yes: float
    no: float

    @property
    def mean(self) -> float:
        """The expected value."""
        return self.yes / (self.yes + self.no)

    @property
    def deviation(self) -> float:
        """The standard deviation."""
        return float(np.sqrt(self.mean * (1 - self.mean) / (self.yes + self.no + 1)))

    def quantile(self, share: float) -> float:
        """The value with this share of the probability below it."""
        from scipy.special import betaincinv  # type: ignore[import-untyped]

        return float(betaincinv(self.yes, self.no, share))

    def below(self, value: float) -> float:
        """The probability of less than ``value``."""
        from scipy.special import betainc

        return float(betainc(self.yes, self.no, value))

    def interval(self, share: float = INTERVAL) -> tuple[float, float]:
        """The central interval that holds this share."""
        return self.quantile((1 - share) / 2), self.quantile((1 + share) / 2)

    def seen(self, yes: float, no: float) -> Beta:
        """After so many more of each."""
        return Beta(self.yes + yes, self.no + no)


def beta_of(mean: float, size: float) -> Beta:
    """The Beta of this mean that is worth ``size`` cases."""
    inside = min(max(mean, ROOM), 1 - ROOM)
    return Beta(inside * size, (1 - inside) * size)


def share_of(counts: Sequence[float] | Array, place: int) -> Beta:
    """One share of a Dirichlet: what is left when all others are put together."""
    counts = np.asarray(counts, dtype=float)
    return Beta(float(counts[place]), float(counts.sum() - counts[place]))


def size_of(number: Number, without_range: float) -> float:
    """How many cases a probability of the base is worth: by its range, or ``without_range`` where it has none."""
    if number.low is None or number.high is None or number.high <= number.low:
        return without_range
    mean = min(max(number.value, ROOM), 1 - ROOM)
    deviation = (number.high - number.low) / RANGE_IN_DEVIATIONS
    return max(mean * (1 - mean) / deviation**2 - 1, LEAST_SIZE)
