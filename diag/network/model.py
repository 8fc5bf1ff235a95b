"""A discrete Bayesian network: nodes with a table or a factored gate. No inference here."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from diag.network.gates import Gate

if TYPE_CHECKING:
    from pgmpy.models import DiscreteBayesianNetwork

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Table:
    """P(node | parents) as a full table.

    ``values`` has one axis a parent, in the order of the node's parents, and the node's own states last. Nested
    lists do as well.
    """

    values: Array

    def __post_init__(self) -> None:
        object.__setattr__(self, "values", np.asarray(self.values, dtype=float))


@dataclass(frozen=True, eq=False)
class Node:
    """One variable: its states, its parents and how it depends on them."""

    id: str
    states: tuple[str, ...]
    parents: tuple[str, ...]
    local: Table | Gate


class NetworkError(ValueError):
    """The nodes given do not make a Bayesian network; the message names the node and why."""


class Network(Mapping[str, Node]):
    """A directed acyclic network of discrete nodes, in an order in which parents come first."""

    def __init__(self, nodes: Iterable[Node]) -> None:
        given = {}
        for node in nodes:
            if node.id in given:
                raise NetworkError(f"node {node.id!r} is given twice")
            given[node.id] = node
        for node in given.values():
            _check(node, given)
        self._nodes = _parents_first(given)

    def __getitem__(self, key: str) -> Node:
        return self._nodes[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._nodes)

    def __len__(self) -> int:
        return len(self._nodes)

    def __repr__(self) -> str:
        return f"<Network of {len(self)} nodes, {sum(len(n.parents) for n in self.values())} arcs>"

    def card(self, node: str) -> int:
        """Number of states of a node."""
        return len(self._nodes[node].states)

    @cached_property
    def children(self) -> Mapping[str, tuple[str, ...]]:
        """The children of every node."""
        found: dict[str, list[str]] = {node: [] for node in self}
        for node in self.values():
            for parent in node.parents:
                found[parent].append(node.id)
        return {node: tuple(below) for node, below in found.items()}

    def ancestors(self, nodes: Iterable[str]) -> frozenset[str]:
        """The nodes given and all above them. What is not among them is barren (Shachter 1986)."""
        found: set[str] = set()
        open_nodes = list(nodes)
        while open_nodes:
            node = open_nodes.pop()
            if node not in found:
                found.add(node)
                open_nodes.extend(self._nodes[node].parents)
        return frozenset(found)

    def table(self, node: str) -> Array:
        """P(node | parents), axes: the parents in their order, then the node; gates are expanded."""
        local = self._nodes[node].local
        return local.values if isinstance(local, Table) else local.expand()

    @staticmethod
    def from_pgmpy(model: DiscreteBayesianNetwork) -> Network:
        """The same network from a pgmpy model; states become text, in the model's order."""
        nodes = [_from_cpd(model.get_cpds(name)) for name in model.nodes()]
        return Network(nodes)


def _from_cpd(cpd: Any) -> Node:
    """pgmpy keeps the node on the first axis and its evidence, in order, on the others."""
    own, *parents = cpd.variables
    values = np.moveaxis(np.asarray(cpd.values, dtype=float), 0, -1)
    states = tuple(str(state) for state in cpd.state_names[own])
    return Node(str(own), states, tuple(str(p) for p in parents), Table(values / values.sum(-1, keepdims=True)))


def _check(node: Node, nodes: Mapping[str, Node]) -> None:
    missing = [parent for parent in node.parents if parent not in nodes]
    if missing:
        raise NetworkError(f"node {node.id!r} has an unknown parent {missing[0]!r}")
    if len(set(node.parents)) < len(node.parents):
        raise NetworkError(f"node {node.id!r} names a parent twice")
    wanted = (*(len(nodes[parent].states) for parent in node.parents), len(node.states))
    local = node.local
    found = local.values.shape if isinstance(local, Table) else local.shape
    if found != wanted:
        raise NetworkError(f"node {node.id!r} needs a table of shape {wanted}, found {found}")
    if isinstance(local, Table) and not _are_probabilities(local.values):
        raise NetworkError(f"node {node.id!r} has rows that are no probabilities")


def _are_probabilities(rows: Array) -> bool:
    return bool(np.all(rows >= 0) and np.allclose(rows.sum(-1), 1, atol=1e-6))


def _parents_first(nodes: Mapping[str, Node]) -> dict[str, Node]:
    ordered: dict[str, Node] = {}
    on_path: set[str] = set()
    for start in nodes:
        stack = [(start, iter(nodes[start].parents))] if start not in ordered else []
        on_path.add(start)
        while stack:
            current, parents = stack[-1]
            above = next((p for p in parents if p not in ordered), None)
            if above is None:
                ordered[current] = nodes[current]
                on_path.discard(current)
                stack.pop()
            elif above in on_path:
                raise NetworkError(f"node {above!r} is its own ancestor")
            else:
                on_path.add(above)
                stack.append((above, iter(nodes[above].parents)))
    return ordered
