"""Compressions of all cylinders as a pattern: even, one low, two beside each other low, all low.

On a logarithmic scale, so that only ratios count: every good cylinder lies round the level of the engine, a leaking one
below it by an unknown share. What nobody can know (the level, how far down, which cylinders) is averaged over. The
pattern stands in the ratios, which an error of the gauge leaves as they are; only "all low" hangs on it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import log, sqrt

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import Number
from diag.measure.air import pressure_at_altitude
from diag.measure.errors import below, density

Array = npt.NDArray[np.float64]

OWN_LEVEL = 0.06  # a sound engine lies round its maker's figure by so much, relative (judgement)
TOO_HIGH = 1.2  # times the second highest: no sound cylinder stands so far above the others (judgement)
_LEVELS = np.arange(log(1.0), log(70.0), 0.02)  # ln bar


@dataclass(frozen=True, slots=True)
class Level:
    """What is known of the engine's level: the maker's figure in bar or None, and the air's pressure in kPa."""

    own: float | None
    ambient: float


def lowest_to_highest(values: Sequence[float]) -> float:
    """Ratio of the lowest compression to the highest. At least 0.75 in a sound engine (TM 5-4210-230-14&P-1)."""
    return min(values) / max(values)


def low_cylinders(values: Sequence[float], limit: float) -> tuple[int, ...]:
    """The cylinders, from 1, below ``limit`` times the highest."""
    return tuple(place for place, value in enumerate(values, start=1) if value < limit * max(values))


def beside_each_other(cylinders: Sequence[int], groups: Sequence[int]) -> bool:
    """Whether these are two neighbours in one bank; ``groups``: cylinders in each bank, in order."""
    return tuple(cylinders) in set(_neighbours(groups))


def too_high(values: Sequence[float]) -> int | None:
    """The cylinder, from 1, that stands far above all others: liquid or carbon in it; None where there is none."""
    ranked = sorted(values)
    if len(values) < 3 or ranked[-1] <= TOO_HIGH * ranked[-2]:
        return None
    return list(values).index(ranked[-1]) + 1


def rise_with_oil(dry: float, wet: float) -> float:
    """By how many per cent the compression rises with a spoonful of oil: rings where clearly (TM 5-4210-230-14&P-1)."""
    return 100.0 * (wet / dry - 1.0)


def ideal_compression(ratio: float, exponent: float, ambient: float = 101.325) -> float:
    """Gauge pressure, kPa, of a cylinder closed at the bottom and compressed by ``ratio``: p0 CR^n - p0.

    exponent: 1.15 to 1.25 while cranking. Real gauges read 70 to 90 per cent of it (late closing, leakage).
    """
    return float(ambient * (ratio**exponent - 1.0))


def pattern_likelihoods(
    logs: Array, variance: float, groups: Sequence[int], figures: Mapping[str, Number], level: Level
) -> Array:
    """Likelihoods of (even, one low, neighbours low, all low), shape (4, errors...), common factor left out.

    logs: ln bar of the cylinders, shape (cylinders, errors...); variance: of each round its true value; groups: number
    of cylinders in each bank, in the order of ``logs``.
    """
    told = {name: number.value for name, number in figures.items()}
    deviation = sqrt(variance + told["unevenness"] ** 2)
    above = logs[:, None] - _LEVELS.reshape(1, -1, *(1,) * (logs.ndim - 1))
    good = density(above / deviation) / deviation
    low = _below_level(above, deviation, told["low_least"], told["low_most"])
    some = np.stack([good.prod(0), _one(good, low, told["two_apart"], groups), _two(good, low, groups)])
    level_of = _level_masses(told, level)
    patterns = np.tensordot(some, level_of, axes=(1, 0))
    all_low = _lowered(level_of, told["all_low_least"], told["all_low_most"])
    return np.concatenate([patterns, np.tensordot(good.prod(0), all_low, axes=(0, 0))[None]])


def _below_level(above: Array, deviation: float, least: float, most: float) -> Array:
    """Density of a cylinder whose share of the level is spread evenly from ``least`` to ``most``, in ln bar."""
    upper = below((log(most) - above - deviation**2) / deviation)
    lower = below((log(least) - above - deviation**2) / deviation)
    return np.asarray(np.exp(np.minimum(above, 5.0) + deviation**2 / 2) * (upper - lower) / (most - least))


def _one(good: Array, low: Array, apart: float, groups: Sequence[int]) -> Array:
    """One low, whichever; seldom two that are no neighbours."""
    cylinders = range(len(good))
    one = np.mean([_with_low(good, low, (place,)) for place in cylinders], axis=0)
    beside = {(a - 1, b - 1) for a, b in _neighbours(groups)}
    far = [pair for pair in combinations(cylinders, 2) if pair not in beside]
    if not far:
        return np.asarray(one)
    return np.asarray((1 - apart) * one + apart * np.mean([_with_low(good, low, pair) for pair in far], axis=0))


def _two(good: Array, low: Array, groups: Sequence[int]) -> Array:
    """Two neighbours low, whichever; nought where no cylinder has a neighbour."""
    pairs = [(a - 1, b - 1) for a, b in _neighbours(groups)]
    return np.asarray(np.mean([_with_low(good, low, pair) for pair in pairs], axis=0)) if pairs else 0.0 * good[0]


def _with_low(good: Array, low: Array, places: Sequence[int]) -> Array:
    rows = [low[place] if place in places else good[place] for place in range(len(good))]
    return np.asarray(np.prod(rows, axis=0))


def _neighbours(groups: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Pairs of cylinders, from 1, that stand beside each other."""
    first = 1
    for size in groups:
        yield from ((place, place + 1) for place in range(first, first + size - 1))
        first += size


def _level_masses(told: Mapping[str, float], level: Level) -> Array:
    """P(level), shape (levels,): round the maker's figure, or petrol and diesel engines together."""
    air = log(level.ambient / pressure_at_altitude(0.0))
    if level.own is not None:
        masses = density((_LEVELS - log(level.own) - air) / OWN_LEVEL)
    else:
        width = log(told["level_factor"])
        petrol = density((_LEVELS - log(told["petrol"]) - air) / width)
        diesel = density((_LEVELS - log(told["diesel"]) - air) / width)
        masses = (1 - told["share_diesel"]) * petrol + told["share_diesel"] * diesel
    return np.asarray(masses / masses.sum())


def _lowered(level_of: Array, least: float, most: float) -> Array:
    """The same level times a share spread evenly from ``least`` to ``most``."""
    shares = np.linspace(least, most, 41)
    moved = [np.interp(_LEVELS - log(share), _LEVELS, level_of, left=0.0, right=0.0) for share in shares]
    masses = np.mean(moved, axis=0)
    return np.asarray(masses / masses.sum())
