"""Probabilities of a function over independent events. Only positive terms are added, so 1e-9 keeps all its digits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from diag.explain.fault_tree.compile import Function
from diag.explain.fault_tree.diagram import Diagram, run

Array = npt.NDArray[np.float64]
BATCH = 64  # columns worked out together


def probabilities(function: Function, chances: Array) -> Array:
    """P(function) under each column of chances; chances: shape (events in order, K), returns shape (K,)."""
    diagram, root = function.diagram, function.root
    if root <= 1:
        return np.full(chances.shape[1], float(root))
    value: dict[int, Array] = {0: np.zeros(chances.shape[1]), 1: np.ones(chances.shape[1])}
    for node in diagram.below(root):
        q = chances[diagram.level[node]]
        value[node] = q * value[diagram.high[node]] + (1.0 - q) * value[diagram.low[node]]
    return value[root]


class NodeChances:
    """P(function) of every node of a diagram, worked out as far as asked, each node once.

    chance: per event, in the order of the levels.
    """

    def __init__(self, diagram: Diagram, chance: Sequence[float]) -> None:
        self._diagram = diagram
        self._chance = chance
        self._known = [0.0, 1.0]

    def of(self, root: int) -> float:
        """P(function with this root)."""
        diagram, known = self._diagram, self._known
        for node in range(len(known), root + 1):  # children stand before their parents
            q = self._chance[diagram.level[node]]
            known.append(q * known[diagram.high[node]] + (1.0 - q) * known[diagram.low[node]])
        return known[root]


def probability(function: Function, chance: Sequence[float]) -> float:
    """P(function); chance: per event in the order of the function."""
    return NodeChances(function.diagram, chance).of(function.root)


def given_each(function: Function, chance: Sequence[float]) -> tuple[Array, Array]:
    """P(function | event there) and P(function | event not there) of every event, shapes (events,)."""
    base = np.asarray(chance, dtype=float)
    found = [_pinned(function, base, present) for present in (1.0, 0.0)]
    return found[0], found[1]


def _pinned(function: Function, base: Array, value: float) -> Array:
    def columns() -> Iterator[Array]:
        for start in range(0, len(base), BATCH):
            events = np.arange(start, min(start + BATCH, len(base)))
            chances = np.repeat(base[:, None], len(events), axis=1)
            chances[events, np.arange(len(events))] = value
            yield probabilities(function, chances)

    return np.concatenate([*columns(), np.zeros(0)])


def birnbaum(function: Function, chance: Sequence[float]) -> Array:
    """P(f | event) - P(f | no event) of every event of a coherent function, without the subtraction.

    Where a further event never helps, the difference is the probability that the function holds with the event and
    not without it, summed over the nodes of the event (Birnbaum 1969).
    """
    diagram = function.diagram
    reach: dict[int, float] = {function.root: 1.0}
    found = np.zeros(len(function.order))
    memo: dict[tuple[int, int], float] = {}
    for node in reversed(diagram.below(function.root)):
        q, own = chance[diagram.level[node]], reach[node]
        low, high = diagram.low[node], diagram.high[node]
        reach[high] = reach.get(high, 0.0) + own * q
        reach[low] = reach.get(low, 0.0) + own * (1.0 - q)
        found[diagram.level[node]] += own * run(_gap(diagram, chance, memo, high, low))
    return found


def _gap(diagram: Diagram, chance: Sequence[float], memo: dict[tuple[int, int], float], f: int, g: int) -> Any:
    """P(f and not g)."""
    if f == 0 or g == 1 or f == g:
        return 0.0
    if f == 1 and g == 0:
        return 1.0
    if (f, g) not in memo:
        level = min(diagram.level[f], diagram.level[g])
        sides = []
        for side in (diagram.low, diagram.high):
            below = (side[f] if diagram.level[f] == level else f, side[g] if diagram.level[g] == level else g)
            sides.append((yield _gap(diagram, chance, memo, *below)))
        memo[f, g] = (1.0 - chance[level]) * sides[0] + chance[level] * sides[1]
    return memo[f, g]
