"""One method's answers on diagnosed cases in numbers: hits, the hits that the answers themselves expect, loss."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import log2, sqrt

import numpy as np

from diag.knowledge.types import Knowledge
from diag.learn.rivals import Ranked

# What a method that gives the truth nothing at all is charged: no finite score would be fair to compare.
LEAST = 1e-12
HITS = {"first": 1, "first3": 3, "first5": 5}


@dataclass(frozen=True)
class Judged:
    """What a method answered about one case, and the causes that were true (ids of the base)."""

    case: str
    truth: tuple[str, ...]
    answer: Ranked

    @property
    def rank(self) -> int:
        """Place of the best placed true cause, from 1; equals by name; behind all where it is in no place."""
        order = sorted(self.answer, key=lambda cause: (-self.answer[cause], cause))
        return min(order.index(cause) + 1 if cause in self.answer else len(order) + 1 for cause in self.truth)

    @property
    def loss(self) -> float:
        """-log2 of the probability of all true causes together, in bits."""
        return -log2(max(sum(self.answer.get(cause, 0.0) for cause in self.truth), LEAST))


@dataclass(frozen=True)
class Expected:
    """How many hits the probabilities themselves expect, and the band that holds the number with 95 %."""

    mean: float
    low: int
    high: int


@dataclass(frozen=True)
class Score:
    """Counts over ``n`` cases: the truth among the first, first three, first five; its family first.

    expected: per count what the method's own probabilities say; losses: one a case, in bits.
    """

    n: int
    first: int
    first3: int
    first5: int
    family_first: int
    expected: Mapping[str, Expected]
    losses: tuple[float, ...]

    @property
    def log_loss(self) -> float:
        """Mean loss in bits; of no case at all 0."""
        return sum(self.losses) / self.n if self.n else 0.0


def score(knowledge: Knowledge, rows: Sequence[Judged]) -> Score:
    """The score of one method on one view."""
    ranks = np.array([row.rank for row in rows])
    tops = [sorted(row.answer.values(), reverse=True) for row in rows]
    return Score(
        n=len(rows),
        first=int((ranks <= 1).sum()),
        first3=int((ranks <= 3).sum()),
        first5=int((ranks <= 5).sum()),
        family_first=sum(_family_first(knowledge, row) for row in rows),
        expected={name: expected_hits([sum(top[:most]) for top in tops]) for name, most in HITS.items()},
        losses=tuple(row.loss for row in rows),
    )


def expected_hits(chances: Sequence[float], share: float = 0.95) -> Expected:
    """The number of hits of independent cases with these chances: its mean and its central band (exact).

    The number of hits is Poisson-binomial; outside the band lies at most half of 1 - share on either side.
    """
    distribution = np.ones(1)
    for chance in chances:
        distribution = np.convolve(distribution, [1.0 - chance, chance])
    below = np.cumsum(distribution)
    outside = (1.0 - share) / 2
    low, high = int(np.searchsorted(below, outside, "right")), int(np.searchsorted(below, 1.0 - outside))
    return Expected(float(sum(chances)), low, min(high, len(chances)))


def paired(ours: Score, other: Score) -> tuple[float, float] | None:
    """Mean of the paired difference in loss (other - ours), in bits, and its standard error; None below two cases."""
    if ours.n < 2:
        return None
    difference = np.array(other.losses) - np.array(ours.losses)
    return float(difference.mean()), float(difference.std(ddof=1) / sqrt(len(difference)))


def _family_first(knowledge: Knowledge, row: Judged) -> bool:
    """Whether the family with the most probability is the family of a true cause."""
    families: dict[str, float] = {}
    for cause, p in row.answer.items():
        family = _family(knowledge, cause)
        families[family] = families.get(family, 0.0) + p
    best = max(sorted(families), key=families.__getitem__)
    return best in {_family(knowledge, cause) for cause in row.truth}


def _family(knowledge: Knowledge, cause: str) -> str:
    """What stands in no chapter is a family of its own."""
    return knowledge.causes[cause].family if cause in knowledge.causes else cause
