"""What a reading may come out as, before it is taken: P(outcome | state), for the planner.

Outcomes are intervals of the reading, fine where it matters, or for a pattern over cylinders drawn samples; a reading
that is still to be taken has an error of its own.
"""

from __future__ import annotations

from functools import lru_cache
from math import sqrt

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import Finding, ReadingModel
from diag.measure.compression import LEVELS, Level, level_masses, lowered, pattern_likelihoods
from diag.measure.errors import below
from diag.measure.likelihood import BLUNDER, bounded, cells_of, errors
from diag.measure.vehicle import Vehicle

Array = npt.NDArray[np.float64]

INTERVALS = 64
_FINE = 1500
_SAMPLES = 2000  # of each state: the gain is off by less than 1e-3 bit
_USUAL_CYLINDERS = 4


def channel(finding: Finding, vehicle: Vehicle) -> Array:
    """P(outcome of a reading of ``finding`` | state), shape (states, outcomes), rows add up to 1."""
    model = finding.reading
    assert model is not None
    own = vehicle.limit_of(finding)
    if model.form == "cylinders":
        table = _pattern(_Asked(finding), own, vehicle.ambient, vehicle.cylinders or _USUAL_CYLINDERS)
    else:
        limit = 1.0 if model.limit is None else own or model.limit.value
        table = _intervals(_Asked(finding), limit, own is not None and model.limit is not None)
    return _with_said(table, model)


class _Asked:
    """A finding as a key: the same object is the same key."""

    __slots__ = ("finding",)

    def __init__(self, finding: Finding) -> None:
        self.finding = finding

    def __hash__(self) -> int:
        return id(self.finding)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Asked) and self.finding is other.finding


def with_blunder(table: Array) -> Array:
    """The same where a reading may be of something else: then any outcome comes, whatever the state."""
    anything = table.max(0)
    mixed = (1.0 - BLUNDER) * table + BLUNDER * anything
    return np.asarray(mixed / mixed.sum(1, keepdims=True))


def intervals(finding: Finding, limit: float, own: bool, count: int = INTERVALS) -> Array:
    """P(reading in an interval | state) without blunders; ``count`` intervals alike likely over all states."""
    model = finding.reading
    assert model is not None
    cells = cells_of(finding, own)
    deviation = sqrt(sum(part**2 for part in errors(model, limit)))
    grid = np.linspace(cells.edges[0] - 5 * deviation, cells.edges[-1] + 5 * deviation, _FINE)
    coarse = np.interp(grid, cells.edges, np.cumsum(np.append(0.0, cells.masses.mean(0))))
    wanted = np.interp(np.linspace(0.0, 1.0, count // 2 + 1)[1:-1], *_rising(coarse, grid))
    edges = np.unique(np.concatenate([wanted, np.linspace(grid[0], grid[-1], count // 2 + 1)[1:-1]]))
    edges = np.unique([_told(model, finding, own, limit, float(edge)) for edge in edges])
    reached = below((edges[:, None] - cells.middles[None, :]) / deviation) @ cells.masses.T
    return np.maximum(np.diff(reached.T, prepend=0.0, append=1.0, axis=1), 0.0)  # rounding can leave -1e-16


def _rising(values: Array, at: Array) -> tuple[Array, Array]:
    kept, place = np.unique(values, return_index=True)
    return kept, at[place]


def _told(model: ReadingModel, finding: Finding, own: bool, limit: float, value: float) -> float:
    """Beyond an end of what tells anything an edge moves to that end."""
    return bounded(model, cells_of(finding, own), limit, "", value)[1]


@lru_cache(maxsize=64)
def _intervals(asked: _Asked, limit: float, own: bool) -> Array:
    return with_blunder(intervals(asked.finding, limit, own))


@lru_cache(maxsize=8)
def _pattern(asked: _Asked, own: float | None, ambient: float, cylinders: int) -> Array:
    model = asked.finding.reading
    assert model is not None
    return with_blunder(pattern_samples(model, Level(own, ambient, model.error.value), cylinders, _SAMPLES))


def pattern_samples(model: ReadingModel, level: Level, cylinders: int, samples: int) -> Array:
    """P(sample | state) over readings drawn from all states alike: each stands for those like it.

    Weighted samples: P(x | s) over the mean of all states, so that what is expected of them is without bias.
    """
    logs = _drawn(model, level, cylinders, samples)
    given = pattern_likelihoods(logs, model.scatter.value**2, [cylinders], model.figures, level)
    weights = given / np.maximum(given.sum(0), 1e-300)
    return np.asarray(weights / weights.sum(1, keepdims=True))


def _drawn(model: ReadingModel, level: Level, cylinders: int, samples: int) -> Array:
    """ln bar, shape (cylinders, 4 x samples): readings as each state of the pattern makes them.

    What counts most, the level and how far down a low cylinder is, is drawn in even steps of its probability.
    """
    told = {name: number.value for name, number in model.figures.items()}
    random = np.random.default_rng(1)
    steps = (np.arange(samples) + 0.5) / samples
    usual = level_masses(told, level)
    low = lowered(usual, told["all_low_least"], told["all_low_most"])
    levels = [np.interp(steps, np.cumsum(masses), LEVELS) for masses in (usual, usual, usual, low)]
    spread = sqrt(model.scatter.value**2 + told["unevenness"] ** 2)
    values = np.concatenate(levels) + random.normal(0.0, spread, (cylinders, 4 * samples))
    down = [np.log(told["low_least"] + random.permuted(steps) * (told["low_most"] - told["low_least"])) for _ in "ab"]
    places = random.permuted(np.arange(samples) % cylinders)
    pairs = random.permuted(np.arange(samples) % max(cylinders - 1, 1))
    at = np.arange(samples)
    values[places, samples + at] += down[0]
    values[pairs, 2 * samples + at] += down[0]
    values[(pairs + 1) % cylinders, 2 * samples + at] += down[1]
    return np.asarray(values)


def _with_said(table: Array, model: ReadingModel) -> Array:
    """Each outcome together with the state that the person tells beside it."""
    if model.said is None:
        return table
    states = len(table)
    said = np.full((states, states), (1.0 - model.said.value) / (states - 1))
    np.fill_diagonal(said, model.said.value)
    return np.asarray((table[:, :, None] * said[:, None, :]).reshape(states, -1))
