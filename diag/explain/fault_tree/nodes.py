"""The nodes of a fault tree with independent events, and what brings each about."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from diag.explain.fault_tree.branches import Node
from diag.explain.fault_tree.compile import Function, compile_all
from diag.explain.fault_tree.probability import NodeChances
from diag.explain.fault_tree.tree import FaultTree


@dataclass(frozen=True, eq=False)
class TreeNodes:
    """Nodes of one tree. Raises TreeTooLarge when first asked."""

    tree: FaultTree

    @property
    def top(self) -> Node:
        """The top event."""
        return self._node(self.tree.top)

    def inputs(self, node: Node) -> Sequence[tuple[Node, float]]:
        """The inputs of a gate, each with the probability that it is there, given the top."""
        return [(self._node(id), self._given_top(id)) for id in self.tree.gates[node.id].inputs]

    def _node(self, id: str) -> Node:
        chance = self._chances.of(self._functions[id].root)
        gate = self.tree.gates.get(id)
        kind, k = (gate.kind, gate.k) if gate else ("", 0)
        return Node(id, id, self.tree.name(id), "effect" if gate else "cause", chance, chance, gate=kind, k=k)

    def _given_top(self, id: str) -> float:
        top = self._functions[self.tree.top]
        both = top.diagram.at_least(2, (top.root, self._functions[id].root))
        total = self._chances.of(top.root)
        return self._chances.of(both) / total if total > 0 else 0.0

    @cached_property
    def _functions(self) -> dict[str, Function]:
        return compile_all(self.tree)

    @cached_property
    def _chances(self) -> NodeChances:
        top = self._functions[self.tree.top]
        return NodeChances(top.diagram, self.tree.chances(top.order))
