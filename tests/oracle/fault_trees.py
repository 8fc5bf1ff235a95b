"""Random fault trees, and the slow way to work one out: all combinations of basic events, in exact fractions."""

from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations

from hypothesis import strategies as st

from diag.explain.fault_tree import BasicEvent, FaultTree, TreeGate

chances = st.one_of(st.floats(0.01, 0.99), st.floats(1e-9, 1e-6), st.sampled_from([1e-9, 0.5, 1.0]))


@st.composite
def trees(draw: st.DrawFn, kinds: tuple[str, ...] = ("or", "and", "k_of_n", "inhibit")) -> FaultTree:
    """Up to eight events and seven gates, inputs shared freely among them."""
    events = {f"e{i}": BasicEvent(draw(chances)) for i in range(draw(st.integers(2, 8)))}
    gates: dict[str, TreeGate] = {}
    for i in range(draw(st.integers(1, 7))):
        kind = draw(st.sampled_from(kinds))
        least, most = {"inhibit": (2, 2), "not": (1, 1)}.get(kind, (1, 4))
        known = [*events, *gates]
        # what was made last is taken more often than not, so that trees grow deep
        own = [f"g{i - 1}"] if i and draw(st.integers(0, 3)) else []
        others = st.lists(st.sampled_from(known), unique=True, min_size=least, max_size=most)
        inputs = tuple(dict.fromkeys([*own, *draw(others)]))[: max(most, 1)]
        gates[f"g{i}"] = TreeGate(kind, inputs, draw(st.integers(1, len(inputs))) if kind == "k_of_n" else 0)
    return FaultTree(list(gates)[-1], gates, events)


class Enumerated:
    """Every combination of the events below the top, each with its exact probability."""

    def __init__(self, tree: FaultTree) -> None:
        self.tree = tree
        self.events = [id for id in tree.below if id in tree.events]
        self.states = [frozenset(some) for n in range(len(self.events) + 1) for some in combinations(self.events, n)]
        self.failing = [state for state in self.states if self.holds(state)]

    def holds(self, present: frozenset) -> bool:
        value = {id: id in present for id in self.tree.events}
        for id in self.tree.below:
            if id in self.tree.gates:
                gate = self.tree.gates[id]
                count = sum(value[other] for other in gate.inputs)
                needed = {"or": 1, "k_of_n": gate.k, "not": 1}.get(gate.kind, len(gate.inputs))
                value[id] = (count >= needed) != (gate.kind == "not")
        return value[self.tree.top]

    def chance(self, states, given: dict | None = None) -> Fraction:
        """P(one of these states | events fixed as told)."""
        q = {id: Fraction(self.tree.events[id].probability) for id in self.events}
        q |= {id: Fraction(value) for id, value in (given or {}).items()}
        total = Fraction(0)
        for state in states:
            product = Fraction(1)
            for id in self.events:
                product *= q[id] if id in state else 1 - q[id]
            total += product
        return total

    def minimal(self) -> list[frozenset]:
        failing = set(self.failing)
        return [state for state in self.failing if not any(state - {id} in failing for id in state)]

    def including(self, sets) -> Iterator[frozenset]:
        """The states that include one of the sets in full."""
        return (state for state in self.states if any(some <= state for some in sets))
