"""What readings of one finding tell: a likelihood over its states and the errors of the instruments named.

All readings of a finding are of ONE true value, drawn from the spread of its state. A reading = true value + error of
its instrument + scatter, on a plain scale or, where errors are relative, on a logarithmic one. A named instrument has
one error in all its readings; a reading without a name has one of its own. Readings beyond the end of a gauge, or far
on the good side of a finding that only one side speaks against, tell no more than that they are there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import log, sqrt

import numpy as np
import numpy.typing as npt

from diag.knowledge.spreads import cumulative, support
from diag.knowledge.types import Finding, ReadingModel, Spread
from diag.measure.compression import Level, pattern_likelihoods
from diag.measure.errors import NODES, WITHIN_NODE, below
from diag.measure.forms import Reading
from diag.measure.quantities import Bound
from diag.measure.vehicle import Vehicle

Array = npt.NDArray[np.float64]

_CELLS = 400  # for each state; inside a cell the true value is spread evenly
_FINE = 3000  # points of a distribution function, linear between
_LIMITS = 41  # steps of a generic limit that may be off
BLUNDER = 0.005  # one reading in two hundred is of something else (judgement); it may come out anywhere
_SMALLEST = 1e-4  # of the largest value: where a logarithmic scale begins


@dataclass(frozen=True, slots=True)
class Taken:
    """A reading as it was taken; ``instrument`` is empty where none was named."""

    reading: Reading
    instrument: str


@dataclass(frozen=True, slots=True)
class Told:
    """Likelihood over (states, error of each named instrument), the greatest is 1."""

    instruments: tuple[str, ...]
    table: Array


@dataclass(frozen=True, slots=True)
class Cells:
    """Spreads of all states on one scale: edges of cells, shape (n + 1,), and masses, shape (states, n)."""

    edges: Array
    masses: Array

    @property
    def middles(self) -> Array:
        """The middle of each cell."""
        return (self.edges[1:] + self.edges[:-1]) / 2


def told_by(finding: Finding, taken: Sequence[Taken], vehicle: Vehicle) -> Told:
    """What readings of ``finding``, one or more, tell together."""
    model = finding.reading
    assert model is not None
    limit, own = limit_of(finding, taken, vehicle)
    names = tuple(dict.fromkeys(one.instrument for one in taken if one.instrument))
    if model.form == "cylinders":
        joined = _joined(model, [(one, scaled(one.reading.values, model, 1.0)) for one in taken], names, 1.0)
        nameless = any(not one.instrument for one in taken)
        dry = any(one.reading.lies_low for one in taken)
        level = Level(vehicle.limits.get(finding.id), vehicle.ambient, model.error.value if nameless else 0.0, dry)
        groups = tuple(len(group) for group in taken[0].reading.groups)
        table = pattern_likelihoods(joined.middle, joined.variance, groups, model.figures, level)
    else:
        table, joined = _scalar(finding, model, taken, names, limit, own)
    return Told(names, _with_said(_with_blunder(table, joined.log_constant), finding, model, taken))


def _with_blunder(table: Array, log_constant: Array) -> Array:
    """``table`` times exp(log_constant), its greatest 1, mixed with a flat one; flat where nothing explains it."""
    with np.errstate(divide="ignore"):
        logs = np.log(table) + log_constant
    if not np.isfinite(logs.max()):
        return np.ones(logs.shape)
    return np.asarray((1.0 - BLUNDER) * np.exp(logs - logs.max()) + BLUNDER)


def limit_of(finding: Finding, taken: Sequence[Taken], vehicle: Vehicle) -> tuple[float, bool]:
    """The limit that values are multiples of (1 where there is none), and whether it is the vehicle's own."""
    model = finding.reading
    assert model is not None
    own = next((one.reading.limit for one in taken if one.reading.limit), None) or vehicle.limit_of(finding)
    if model.limit is None or model.form == "cylinders":
        return 1.0, False
    return (own, True) if own else (model.limit.value, False)


@lru_cache(maxsize=64)
def _cells(key: _Key) -> Cells:
    finding, own = key.finding, key.own
    model = finding.reading
    assert model is not None
    spreads = [model.values[state] for state in finding.states]
    factor = 1.0 if own or model.limit_factor is None else model.limit_factor.value
    ends = [(low / factor**3 if low > 0 else low * factor**3, high * factor**3) for low, high in map(support, spreads)]
    top = max(high for _, high in ends)
    scale = [(log(max(low, _SMALLEST * top)), log(high)) for low, high in ends] if model.relative else ends
    edges = np.unique(np.concatenate([np.linspace(low, high, _CELLS + 1) for low, high in scale]))
    values = np.exp(edges) if model.relative else edges
    masses = [_mixed(spread, values, factor) for spread in spreads]
    return Cells(edges, np.array([mass / mass.sum() for mass in masses]))


@dataclass(frozen=True, slots=True, eq=False)
class _Key:
    """A finding and whether its limit is the vehicle's own; findings are told apart by being the same object."""

    finding: Finding
    own: bool

    def __hash__(self) -> int:
        return hash((id(self.finding), self.own))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Key) and self.finding is other.finding and self.own == other.own


def cells_of(finding: Finding, own: bool) -> Cells:
    """The spreads of a finding with figures; ``own``: whether the limit is the vehicle's own, which is not off."""
    return _cells(_Key(finding, own))


def _mixed(spread: Spread, values: Array, factor: float) -> Array:
    """Masses between ``values``, where these are multiples of a limit that is off by ``factor``."""
    at = np.linspace(*support(spread), _FINE)
    share_below = np.array([*map(cumulative(spread), at.tolist())])
    if factor == 1.0:
        return np.diff(np.interp(values, at, share_below))
    steps = np.linspace(-3.0, 3.0, _LIMITS)
    weights = np.exp(-0.5 * steps**2) / np.exp(-0.5 * steps**2).sum()
    scaled_values = values / np.exp(steps * log(factor))[:, None]
    return np.diff(weights @ np.interp(scaled_values, at, share_below))


@dataclass(frozen=True, slots=True)
class _Joined:
    """Readings joined to one: middle, shape (figures, errors...), its variance, and the log of what is left out."""

    middle: Array
    variance: float
    log_constant: Array


def scaled(values: Sequence[float], model: ReadingModel, limit: float) -> Array:
    """Figures on the scale of the cells: multiples of the limit, their logarithms where errors are relative."""
    told = np.array(values) / limit
    return np.log(np.maximum(told, _SMALLEST * model.greatest.value / limit)) if model.relative else told


def errors(model: ReadingModel, limit: float) -> tuple[float, float]:
    """Standard deviations of instrument and scatter on the scale of the cells."""
    by = 1.0 if model.relative else limit
    return model.error.value / by, model.scatter.value / by


def _own_variance(model: ReadingModel, limit: float, named: bool) -> float:
    """What the error of an instrument adds to the variance: all of it, or what lies round a node where it is named."""
    error, _ = errors(model, limit)
    alone = 0.0 if model.form == "cylinders" else 1.0  # over all cylinders a gauge has one error; see Level
    return error**2 * (WITHIN_NODE if named else alone)


def _scatter_variance(one: Taken, model: ReadingModel, limit: float) -> float:
    _, scatter = errors(model, limit)
    return scatter**2 + (one.reading.more_scatter / limit) ** 2


def _joined(model: ReadingModel, told: Sequence[tuple[Taken, Array]], names: Sequence[str], limit: float) -> _Joined:
    """Normal readings of the same figures as one normal reading, for every error of the instruments named."""
    error, _ = errors(model, limit)
    size = len(told[0][1]) if told else 1
    shape = (len(NODES),) * len(names)
    weight, first, second = 0.0, np.zeros((size, *shape)), np.zeros((size, *shape))
    for instrument, values, variance in _by_instrument(model, told, limit):
        shift = _axis(NODES * error, names.index(instrument), len(names)) if instrument else np.zeros(shape)
        true = values.reshape(-1, *(1,) * len(names)) - shift
        weight, first, second = weight + 1 / variance, first + true / variance, second + true**2 / variance
    if weight == 0.0:
        return _Joined(first, 0.0, np.zeros(shape))
    middle = first / weight
    return _Joined(middle, 1.0 / weight, -0.5 * (second - weight * middle**2).sum(0))


def _by_instrument(
    model: ReadingModel, told: Sequence[tuple[Taken, Array]], limit: float
) -> Iterator[tuple[str, Array, float]]:
    """Readings by one named instrument as their mean; those without a name each by itself: name, figures, variance."""
    groups: dict[str, list[tuple[Taken, Array]]] = {}
    for place, (one, values) in enumerate(told):
        groups.setdefault(one.instrument or f"\n{place}", []).append((one, values))
    for group in groups.values():
        precisions = [1.0 / _scatter_variance(one, model, limit) for one, _ in group]
        mean = sum(p * values for p, (_, values) in zip(precisions, group, strict=True)) / sum(precisions)
        name = group[0][0].instrument
        yield name, np.asarray(mean), 1.0 / sum(precisions) + _own_variance(model, limit, bool(name))


def _axis(values: Array, place: int, axes: int) -> Array:
    return values.reshape([-1 if axis == place else 1 for axis in range(axes)])


def _scalar(
    finding: Finding, model: ReadingModel, taken: Sequence[Taken], names: tuple[str, ...], limit: float, own: bool
) -> tuple[Array, _Joined]:
    cells = cells_of(finding, own)
    exact: list[tuple[Taken, float]] = []
    ends: list[tuple[Taken, float, Bound]] = []
    for one in taken:
        (value,) = scaled(one.reading.values, model, limit)
        bound, value = bounded(model, cells, limit, one.reading.bound, float(value))
        if bound:
            ends.append((one, value, bound))
        else:
            exact.append((one, value))
    joined = _joined(model, [(one, np.array([value])) for one, value in exact], names, limit)
    told = _within(cells, joined) if exact else np.ones((len(cells.middles), *joined.log_constant.shape))
    for one, value, bound in ends:
        told = told * _beyond(cells, one, value, bound, model, names, limit)
    return np.tensordot(cells.masses, told, axes=1), joined


def bounded(model: ReadingModel, cells: Cells, limit: float, bound: Bound, value: float) -> tuple[Bound, float]:
    """A figure that tells no more than which side it lies on: the needle at its stop, or far on the good side."""
    if model.stop is not None and not bound:
        (stop,) = scaled((model.stop.value,), model, limit)
        if value >= stop - 1e-9 * abs(stop):
            return "over", float(stop)
    if model.one_sided != "none":
        sound = float(np.interp(0.5, np.cumsum(cells.masses[0]), cells.edges[1:]))
        if model.one_sided == "high" and (value < sound or bound == "under"):
            return "under", max(sound, value)
        if model.one_sided == "low" and (value > sound or bound == "over"):
            return "over", min(sound, value)
    return bound, value


def _within(cells: Cells, joined: _Joined) -> Array:
    """Density of the joined reading, mean over each cell: shape (cells, errors...)."""
    middle, deviation = joined.middle[0], sqrt(joined.variance)
    edges = cells.edges.reshape(-1, *(1,) * middle.ndim)
    width = np.diff(cells.edges).reshape(-1, *(1,) * middle.ndim)
    return np.asarray(np.diff(below((edges - middle) / deviation), axis=0) / width)


def _beyond(
    cells: Cells, one: Taken, value: float, bound: Bound, model: ReadingModel, names: Sequence[str], limit: float
) -> Array:
    """P(the needle stands at or beyond ``value``) by cell and error."""
    error, _ = errors(model, limit)
    axes = len(names)
    shift = _axis(NODES * error, names.index(one.instrument), axes) if one.instrument else np.zeros((1,) * axes)
    true = cells.middles.reshape(-1, *(1,) * axes) + shift
    variance = _scatter_variance(one, model, limit) + _own_variance(model, limit, bool(one.instrument))
    chance = below((true - value) / sqrt(variance))
    return chance if bound == "over" else 1.0 - chance


def _with_said(table: Array, finding: Finding, model: ReadingModel, taken: Sequence[Taken]) -> Array:
    """With the state that a person told beside the reading, the last word on it."""
    said = next((one.reading.said for one in reversed(taken) if one.reading.said), "")
    if not said or model.said is None:
        return table
    right, others = model.said.value, len(finding.states) - 1
    weight = np.array([right if state == said else (1.0 - right) / others for state in finding.states])
    weighed = table * weight.reshape(-1, *(1,) * (table.ndim - 1))
    return np.asarray(weighed / weighed.max())
