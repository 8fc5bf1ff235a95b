"""Compressions of all cylinders as a pattern: even, one low, two beside each other low, all low.

On a logarithmic scale, so that only ratios count: every good cylinder lies round the level of the engine, a leaking one
below it by an unknown share. What nobody can know (the level, how far down, which cylinders) is averaged over. The
pattern stands in the ratios, which an error of the gauge leaves as they are; only "all low" hangs on it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import log, pi, sqrt

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import Number
from diag.measure.air import pressure_at_altitude
from diag.measure.cylinders import neighbours
from diag.measure.errors import below, density

Array = npt.NDArray[np.float64]

OWN_LEVEL = 0.06  # a sound engine lies round its maker's figure by so much, relative (judgement)
DRY_BORES = (0.6, 1.0)  # what dry bores leave of the level on the first turns, in half of all engines (judgement)
LEVEL_STEP = 0.01
LEVELS = np.arange(log(1.0), log(70.0), LEVEL_STEP)  # ln bar
_HERMITE = np.polynomial.hermite.hermgauss(15)


@dataclass(frozen=True, slots=True)
class Level:
    """What is known of the engine's level: the maker's figure in bar or None, and the air's pressure in kPa.

    ``error`` is the relative error of a gauge that nobody named: it moves all cylinders together, so it counts here.
    ``lies_low``: the bores are dry after long standing, so that a sound engine may read low on the first turns.
    """

    own: float | None
    ambient: float
    error: float = 0.0
    lies_low: bool = False


def pattern_likelihoods(
    logs: Array, variance: float, groups: Sequence[int], figures: Mapping[str, Number], level: Level
) -> Array:
    """Likelihoods of (even, one low, neighbours low, all low), shape (4, errors...), common factor left out.

    logs: ln bar of the cylinders, shape (cylinders, errors...); variance: of each round its true value; groups: number
    of cylinders in each bank, in the order of ``logs``.
    """
    told = {name: number.value for name, number in figures.items()}
    usual = level_masses(told, level)
    engine = _Engine(logs, sqrt(variance + told["unevenness"] ** 2), (told["low_least"], told["low_most"]))
    cylinders = range(len(logs))
    beside = [(a - 1, b - 1) for a, b in neighbours(groups)]
    far = [pair for pair in combinations(cylinders, 2) if pair not in beside]
    one = engine.mean([(place,) for place in cylinders], usual)
    if far:
        one = (1 - told["two_apart"]) * one + told["two_apart"] * engine.mean(far, usual)
    all_low = lowered(usual, told["all_low_least"], told["all_low_most"])
    return np.stack([engine.given((), usual), one, engine.mean(beside, usual), engine.given((), all_low)])


@dataclass(frozen=True, slots=True)
class _Engine:
    """Cylinders, shape (cylinders, ...), their deviation round the level, and the shares that a low one may have."""

    logs: Array
    deviation: float
    shares: tuple[float, float]

    def mean(self, patterns: Sequence[tuple[int, ...]], level_of: Array) -> Array:
        """Density of the cylinders where one of these sets of them is low, all alike likely; nought without a set."""
        if not patterns:
            return np.zeros(self.logs.shape[1:])
        return np.asarray(np.mean([self.given(low, level_of) for low in patterns], axis=0))

    def given(self, low: tuple[int, ...], level_of: Array) -> Array:
        """Density of the cylinders where just those of ``low`` are, over all levels.

        Good cylinders together are a normal density of the level, times how far they lie apart; the integral over it
        is a Gauss-Hermite sum. Without a good cylinder it is a sum over all levels.
        """
        good = self.logs[[place for place in range(len(self.logs)) if place not in low]]
        count, shape = len(good), (-1, *(1,) * (self.logs.ndim - 1))
        if not count:
            levels, weights, apart = LEVELS.reshape(shape), level_of.reshape(shape), np.array(1.0)
        else:
            centre = good.mean(0)
            levels = centre + self.deviation * sqrt(2.0 / count) * _HERMITE[0].reshape(shape)
            weights = _HERMITE[1].reshape(shape) / sqrt(pi) * np.interp(levels, LEVELS, level_of / LEVEL_STEP)
            spread = ((good - centre) ** 2).sum(0) / (2.0 * self.deviation**2)
            apart = np.exp(-spread) * (2.0 * pi * self.deviation**2) ** ((1 - count) / 2) / sqrt(float(count))
        for place in low:
            weights = weights * _below_level(self.logs[place] - levels, self.deviation, *self.shares)
        result: Array = apart * weights.sum(0)
        return result


def _below_level(above: Array, deviation: float, least: float, most: float) -> Array:
    """Density of a cylinder whose share of the level is spread evenly from ``least`` to ``most``, in ln bar."""
    upper = below((log(most) - above - deviation**2) / deviation)
    lower = below((log(least) - above - deviation**2) / deviation)
    return np.asarray(np.exp(np.minimum(above, 5.0) + deviation**2 / 2) * (upper - lower) / (most - least))


def level_masses(told: Mapping[str, float], level: Level) -> Array:
    """P(level), shape (levels,): round the maker's figure, or petrol and diesel engines together."""
    air = log(level.ambient / pressure_at_altitude(0.0))
    if level.own is not None:
        masses = density((LEVELS - log(level.own) - air) / sqrt(OWN_LEVEL**2 + level.error**2))
    else:
        width = sqrt(log(told["level_factor"]) ** 2 + level.error**2)
        petrol = density((LEVELS - log(told["petrol"]) - air) / width)
        diesel = density((LEVELS - log(told["diesel"]) - air) / width)
        masses = (1 - told["share_diesel"]) * petrol + told["share_diesel"] * diesel
    masses = masses / masses.sum()
    return np.asarray((masses + lowered(masses, *DRY_BORES)) / 2 if level.lies_low else masses)


def lowered(level_of: Array, least: float, most: float) -> Array:
    """The same level times a share spread evenly from ``least`` to ``most``."""
    shares = np.linspace(least, most, 41)
    moved = [np.interp(LEVELS - log(share), LEVELS, level_of, left=0.0, right=0.0) for share in shares]
    masses = np.mean(moved, axis=0)
    return np.asarray(masses / masses.sum())
