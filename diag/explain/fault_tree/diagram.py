"""Decision diagrams: reduced, ordered, every node once. Binary ones for functions, zero-suppressed ones for sets.

Node 0 and node 1 are the terminals; a node is a triple (level, low, high), its children were made before it. No
complement edges: P(not f) = 1 - P(f) would lose what is small.

References
----------
Bryant 1986, Graph-based algorithms for Boolean function manipulation, IEEE Trans. Computers C-35.
Minato 1993, Zero-suppressed BDDs for set manipulation in combinatorial problems, Design Automation Conference.
Rauzy 1993, New algorithms for fault tree analysis, Reliability Engineering and System Safety 40.
"""

from __future__ import annotations

from collections.abc import Generator, Sequence
from typing import Any

NODE_LIMIT = 100_000  # about a second of work; what is larger is refused, not waited for
BOTTOM = 1 << 60  # the level of the terminals

Step = Generator["Step", int, int]


class TreeTooLarge(ValueError):
    """The tree needs more nodes of a decision diagram than the limit allows."""


def run(step: Generator[Any, Any, Any]) -> Any:
    """Run a recursion written as generators, as deep as memory allows: ``yield`` a call, get its result."""
    stack = [step]
    value: Any = None
    while stack:
        try:
            stack.append(stack[-1].send(value))
            value = None
        except StopIteration as done:
            stack.pop()
            value = done.value
    return value


class Diagram:
    """Nodes of one kind under one order of levels, with a limit on their number."""

    def __init__(self, zero_suppressed: bool = False, limit: int = NODE_LIMIT) -> None:
        self.level = [BOTTOM, BOTTOM]
        self.low = [0, 1]
        self.high = [0, 1]
        self._zero_suppressed = zero_suppressed
        self._limit = limit
        self._nodes: dict[tuple[int, int, int], int] = {}
        self._memo: dict[tuple[Any, ...], int] = {}

    def node(self, level: int, low: int, high: int) -> int:
        """The node with these children, made only where there is none yet. Raises TreeTooLarge."""
        if high == 0 if self._zero_suppressed else high == low:
            return low
        key = (level, low, high)
        found = self._nodes.get(key)
        if found is None:
            if len(self.level) >= self._limit:
                raise TreeTooLarge(
                    f"this tree needs a decision diagram of more than {self._limit} nodes, which is too large to be "
                    "worked out exactly here. Ask for a gate further down."
                )
            found = self._nodes[key] = len(self.level)
            self.level.append(level)
            self.low.append(low)
            self.high.append(high)
        return found

    def below(self, root: int) -> list[int]:
        """The inner nodes that can be reached from the root, children first."""
        seen: set[int] = set()
        open_nodes = [root]
        while open_nodes:
            node = open_nodes.pop()
            if node > 1 and node not in seen:
                seen.add(node)
                open_nodes += (self.low[node], self.high[node])
        return sorted(seen)

    # --- functions (binary diagrams) ---

    def choose(self, test: int, then: int, other: int) -> int:
        """The function "if ``test`` then ``then`` else ``other``"."""
        return int(run(self._choose(test, then, other)))

    def at_least(self, k: int, inputs: Sequence[int]) -> int:
        """The function that k or more of the inputs hold. 1 is OR, all of them AND."""
        # row[j]: j or more of the inputs looked at so far, the last one first
        row = [1] + [0] * k
        for function in reversed(inputs):
            row = [1] + [self.choose(function, row[j - 1], row[j]) for j in range(1, k + 1)]
        return row[k]

    def _choose(self, test: int, then: int, other: int) -> Step:
        if test <= 1 or then == other:
            return then if test == 1 or then == other else other
        if then == 1 and other == 0:
            return test
        key = (test, then, other)
        if key not in self._memo:
            level = min(self.level[test], self.level[then], self.level[other])
            low = yield self._choose(*(self._child(f, level, self.low) for f in key))
            high = yield self._choose(*(self._child(f, level, self.high) for f in key))
            self._memo[key] = self.node(level, low, high)
        return self._memo[key]

    def _child(self, node: int, level: int, side: list[int]) -> int:
        return side[node] if self.level[node] == level else node

    # --- families of sets (zero-suppressed diagrams): 0 is no set, 1 the empty set alone ---

    def without(self, sets: int, others: int) -> int:
        """The sets that include none of the others (absorption)."""
        return int(run(self._without(sets, others)))

    def containing(self, sets: int, level: int) -> int:
        """The sets with this member, the member taken out."""
        return int(run(self._containing(sets, level)))

    def _without(self, sets: int, others: int) -> Step:
        if sets == 0 or others == 0:
            return sets
        if sets == others or others == 1:
            return 0
        key = ("without", sets, others)
        if key not in self._memo:
            level, other = self.level[sets], self.level[others]
            if level > other:
                self._memo[key] = yield self._without(sets, self.low[others])
            else:
                high = self.high[sets]
                if level == other:
                    high = yield self._without(high, self.high[others])
                rest = self.low[others] if level == other else others
                high = yield self._without(high, rest)
                low = yield self._without(self.low[sets], rest)
                self._memo[key] = self.node(level, low, high)
        return self._memo[key]

    def _containing(self, sets: int, level: int) -> Step:
        if self.level[sets] >= level:
            return self.high[sets] if self.level[sets] == level else 0
        key = ("containing", sets, level)
        if key not in self._memo:
            low = yield self._containing(self.low[sets], level)
            high = yield self._containing(self.high[sets], level)
            self._memo[key] = self.node(self.level[sets], low, high)
        return self._memo[key]
