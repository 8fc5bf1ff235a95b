"""The single most probable joint state of all nodes that bear on the evidence, by max-product.

Signed helper variables cannot be maximised over, so gates are written out as tables here; a gate with too many
parents for that is refused by name.

References
----------
Dawid 1992, Applications of a general propagation algorithm for probabilistic expert systems, Statistics and
    Computing 2, 25-36 (max-propagation).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from math import prod
from typing import Any

import numpy as np
import numpy.typing as npt

from diag.network.factors import Factors, relevant_nodes
from diag.network.messages import clique_tables
from diag.network.model import Network
from diag.network.plan import CELL_LIMIT, CliqueTree, clique_tree
from diag.network.routes import spread

Array = npt.NDArray[np.float64]


class GateTooWide(ValueError):
    """A gate has too many parents to be written out as a table; the message names it."""


def most_probable_explanation(
    network: Network,
    likelihood: Mapping[str, Array],
    also: Iterable[str] = (),
    limit: int = CELL_LIMIT,
    summed: Collection[str] = (),
) -> tuple[dict[str, str], float]:
    """The assignment of evidence nodes, ``also`` and all their ancestors with the highest P(assignment, e).

    summed: nodes that are no part of the assignment but summed out; no child of theirs may be part of it. Returns the
    states by node, and that probability (0 where the evidence is impossible). Raises GateTooWide, CliqueTooLarge.
    """
    relevant = relevant_nodes(network, likelihood, also)
    nodes = [node for node in network if node in relevant and node not in summed]
    factors = _written_out(network, nodes, likelihood, limit)
    for group in _groups(network, [node for node in network if node in relevant and node in summed]):
        scope, values = _sum_out(network, group, likelihood, limit)
        factors.multiply(tuple(factors.index[node] for node in scope), values)
    tree = clique_tree(tuple(factors.cards), tuple(scope for scope, _ in factors.joint), limit)
    best, value = _assign(tree, clique_tables(tree, factors))
    return {node: network[node].states[best[factors.index[node]]] for node in nodes}, value * factors.constant


def _written_out(network: Network, nodes: Iterable[str], likelihood: Mapping[str, Array], limit: int) -> Factors:
    factors = Factors()
    for node in nodes:
        factors.index[node] = factors.variable(node, network.card(node))
        scope = tuple(factors.index[name] for name in (*network[node].parents, node))
        factors.multiply(scope, _table(network, node, limit))
        if node in likelihood:
            factors.multiply(scope[-1:], np.asarray(likelihood[node], dtype=float))
    return factors


def _table(network: Network, node: str, limit: int) -> Array:
    cells = prod(network.card(p) for p in network[node].parents) * network.card(node)
    if cells > limit:
        raise GateTooWide(f"the gate of {node!r} has {cells} cells as a table, the limit is {limit}")
    return network.table(node)


def _groups(network: Network, summed: Sequence[str]) -> Iterable[list[str]]:
    """The summed nodes in groups that hang together; each can be summed out by itself."""
    group_of: dict[str, list[str]] = {}
    for node in summed:
        group = [node]
        for above in {id(group_of[p]): group_of[p] for p in network[node].parents if p in group_of}.values():
            group = [*above, *group]
        group_of |= dict.fromkeys(group, group)
    return {id(group): group for group in group_of.values()}.values()


def _sum_out(
    network: Network, group: Sequence[str], likelihood: Mapping[str, Array], limit: int
) -> tuple[tuple[str, ...], Array]:
    """What is left of a group of summed nodes: (nodes above it, values with an axis each)."""
    above = tuple(dict.fromkeys(p for node in group for p in network[node].parents if p not in group))
    number = {node: i for i, node in enumerate((*above, *group))}
    operands: list[Any] = []
    for node in group:
        operands += [_table(network, node, limit), [number[n] for n in (*network[node].parents, node)]]
        if node in likelihood:
            operands += [np.asarray(likelihood[node], dtype=float), [number[node]]]
    return above, np.asarray(np.einsum(*operands, [number[node] for node in above], optimize="greedy"))


def _assign(tree: CliqueTree, tables: list[Array]) -> tuple[dict[int, int], float]:
    """Maximise towards the root, then read the states off on the way back."""
    upward: dict[int, Array] = {}
    value = 1.0
    for i, scope in enumerate(tree.scopes):
        for child in tree.children[i]:
            runs, shape, _ = spread(tree.cards, scope, tree.separators[child])
            tables[i] = (tables[i].reshape(runs) * upward[child].reshape(shape)).reshape(-1)
        # What a clique shares with its parent is the tail of its scope.
        kept = prod(tree.cards[v] for v in tree.separators[i])
        upward[i] = tables[i].reshape(-1, kept).max(0)
        value = float(upward[i][0])
    best: dict[int, int] = {}
    for i in range(len(tree.scopes) - 1, -1, -1):
        _read_off(tree, i, tables[i], best)
    return best, value


def _read_off(tree: CliqueTree, clique: int, table: Array, best: dict[int, int]) -> None:
    scope, separator = tree.scopes[clique], tree.separators[clique]
    known = np.ravel_multi_index([best[v] for v in separator], [tree.cards[v] for v in separator]) if separator else 0
    column = table.reshape(-1, prod(tree.cards[v] for v in separator))[:, known]
    own = scope[: len(scope) - len(separator)]
    if own:
        states = np.unravel_index(int(column.argmax()), [tree.cards[v] for v in own])
        best.update(zip(own, map(int, states), strict=True))
