"""Minimal cut sets of a coherent function, kept as a zero-suppressed diagram and listed the most probable first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from heapq import heappop, heappush

from diag.explain.fault_tree.compile import Function
from diag.explain.fault_tree.diagram import NODE_LIMIT, Diagram
from diag.explain.fault_tree.probability import NodeChances


@dataclass(frozen=True, slots=True)
class CutSet:
    """A smallest set of events that together bring the top about, and the product of their probabilities."""

    events: tuple[str, ...]
    probability: float


@dataclass(frozen=True)
class CutSets:
    """The likeliest cut sets, and what was left out: how many, and the sum of their probabilities.

    ``rare_event_sum`` is the sum over all of them, which is at least the probability of the top.
    """

    likeliest: tuple[CutSet, ...]
    left_out: int
    left_out_sum: float
    rare_event_sum: float


@dataclass(frozen=True, eq=False)
class Family:
    """All minimal cut sets of a function, over the same levels."""

    function: Function
    sets: Diagram
    root: int
    chance: Sequence[float]

    @cached_property
    def _chances(self) -> NodeChances:
        return NodeChances(self.function.diagram, self.chance)

    @cached_property
    def _counts(self) -> dict[int, int]:
        found = {0: 0, 1: 1}
        for node in self.sets.below(self.root):
            found[node] = found[self.sets.low[node]] + found[self.sets.high[node]]
        return found

    @cached_property
    def _sums(self) -> dict[int, float]:
        found = {0: 0.0, 1: 1.0}
        for node in self.sets.below(self.root):
            q = self.chance[self.sets.level[node]]
            found[node] = found[self.sets.low[node]] + q * found[self.sets.high[node]]
        return found

    @cached_property
    def _best(self) -> dict[int, float]:
        """The most probable set that a node leads to; -1 where there is none."""
        found = {0: -1.0, 1: 1.0}
        for node in self.sets.below(self.root):
            high = found[self.sets.high[node]]
            q = self.chance[self.sets.level[node]]
            found[node] = max(found[self.sets.low[node]], q * high if high >= 0 else -1.0)
        return found

    def listed(self, limit: int) -> CutSets:
        """At most ``limit`` sets, the most probable first, by best-first search; ties in the order of the levels."""
        heap: list[tuple[float, tuple[int, ...], int, float]] = []
        self._push(heap, (), self.root, 1.0)
        found: list[CutSet] = []
        while heap and len(found) < limit:
            _, members, node, product = heappop(heap)
            if node == 1:
                found.append(CutSet(tuple(self.function.order[level] for level in members), product))
                continue
            level = self.sets.level[node]
            self._push(heap, members, self.sets.low[node], product)
            self._push(heap, (*members, level), self.sets.high[node], product * self.chance[level])
        return CutSets(
            likeliest=tuple(found),
            left_out=sum(self._counts[node] for _, _, node, _ in heap),
            left_out_sum=sum(product * self._sums[node] for _, _, node, product in heap),
            rare_event_sum=self._sums[self.root],
        )

    def _push(
        self, heap: list[tuple[float, tuple[int, ...], int, float]], members: tuple[int, ...], node: int, product: float
    ) -> None:
        if node != 0:
            heappush(heap, (-product * self._best[node], members, node, product))

    def chance_with(self, level: int) -> float:
        """P(some cut set with this event has come about in full): the exact union. Raises TreeTooLarge."""
        return self.chance[level] * self._chances.of(self._holds(self.sets.containing(self.root, level)))

    def ways_with(self, level: int, limit: int) -> list[dict[str, bool]] | None:
        """Ways that exclude each other in which the rest of some cut set with this event is there in full.

        Each way says of some events whether they are there; [{}] where the event is a cut set by itself, None where
        there are more ways than the limit.
        """
        diagram, order = self.function.diagram, self.function.order
        found: list[dict[str, bool]] = []
        stack: list[tuple[int, dict[str, bool]]] = [(self._holds(self.sets.containing(self.root, level)), {})]
        while stack:
            node, way = stack.pop()
            if node == 1:
                found.append(way)
            elif node:
                event = order[diagram.level[node]]
                stack += [(diagram.low[node], {**way, event: False}), (diagram.high[node], {**way, event: True})]
            if len(found) > limit:
                return None
        return found

    def _holds(self, root: int) -> int:
        """The function that some set of the family is there in full."""
        diagram = self.function.diagram
        found = {0: 0, 1: 1}
        for node in self.sets.below(root):
            low, high = found[self.sets.low[node]], found[self.sets.high[node]]
            found[node] = diagram.node(self.sets.level[node], low, diagram.choose(high, 1, low))
        return found[root]


def minimal_cut_sets(function: Function, chance: Sequence[float], limit: int = NODE_LIMIT) -> Family:
    """All minimal cut sets of a coherent function (Rauzy 1993, section 4). Raises TreeTooLarge."""
    diagram = function.diagram
    sets = Diagram(zero_suppressed=True, limit=limit)
    found = {0: 0, 1: 1}
    for node in diagram.below(function.root):
        low, high = found[diagram.low[node]], found[diagram.high[node]]
        found[node] = sets.node(diagram.level[node], low, sets.without(high, low))
    return Family(function, sets, found[function.root], chance)
