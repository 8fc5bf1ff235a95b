"""The plain two-way pass: every message of a clique tree under the evidence, no probes.

References
----------
Shafer and Shenoy 1990, Probability propagation, Annals of Mathematics and AI 2, 327-351.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from diag.network.factors import Factors
from diag.network.plan import CliqueTree, Scope
from diag.network.routes import spread

Array = npt.NDArray[np.float64]

# The ports of a clique: its children by their numbers, its parent as PARENT.
PARENT = -1


class Messages:
    """Tables and messages of a clique tree; all are vectors over the cells of their scope, in its order.

    Factored gates put negative cells in, so nothing is ever divided by: what leaves a port is made of what came
    in by all other ports.
    """

    def __init__(self, tree: CliqueTree, factors: Factors) -> None:
        self.tree = tree
        self._products: dict[tuple[int, frozenset[int]], Array] = {}
        self._incoming: dict[tuple[int, int], Array] = {}
        self.tables = clique_tables(tree, factors)
        self._collect()
        self._distribute()

    def ports(self, clique: int) -> tuple[int, ...]:
        """Children first, then the parent where there is one."""
        parent = (PARENT,) if self.tree.parent[clique] >= 0 else ()
        return (*self.tree.children[clique], *parent)

    def separator(self, clique: int, port: int) -> Scope:
        """The variables that pass through a port."""
        return self.tree.separators[clique if port == PARENT else port]

    def product(self, clique: int, without: Iterable[int] = ()) -> Array:
        """The clique's table times all that came in, but by the ports named; over the clique's cells."""
        key = (clique, frozenset(without))
        if key not in self._products:
            table = self.tables[clique]
            for port in self.ports(clique):
                if port not in key[1]:
                    table = self._multiply(clique, table, port)
            self._products[key] = table
        return self._products[key]

    def sum_to(self, clique: int, table: Array, part: Scope) -> Array:
        """Sum a table over a clique down to a part of its variables."""
        runs, _, summed = spread(self.tree.cards, self.tree.scopes[clique], part)
        return np.asarray(table.reshape(runs).sum(summed)).reshape(-1)

    def _multiply(self, clique: int, table: Array, port: int) -> Array:
        message = self._incoming[clique, port]
        runs, shape, _ = spread(self.tree.cards, self.tree.scopes[clique], self.separator(clique, port))
        return np.asarray(table.reshape(runs) * message.reshape(shape)).reshape(-1)

    def _collect(self) -> None:
        for i, parent in enumerate(self.tree.parent):
            if parent >= 0:
                self._incoming[parent, i] = self.sum_to(i, self.product(i, (PARENT,)), self.tree.separators[i])

    def _distribute(self) -> None:
        for i in range(len(self.tree.scopes) - 1, -1, -1):
            for child in self.tree.children[i]:
                self._incoming[child, PARENT] = self.sum_to(i, self.product(i, (child,)), self.tree.separators[child])


def clique_tables(tree: CliqueTree, factors: Factors) -> list[Array]:
    """All factors multiplied into their cliques, flat over the cells of each."""
    tables = [np.ones(cells) for cells in tree.cells]
    for (scope, values), home in zip(factors.joint, tree.factor_clique, strict=True):
        order = sorted(scope, key=tree.scopes[home].index)
        runs, shape, _ = _axes(tree, home, tuple(order))
        factor = values.transpose([scope.index(v) for v in order]).reshape(shape)
        tables[home] = (tables[home].reshape(runs) * factor).reshape(-1)
    for variable, vector in enumerate(factors.unary):
        home = tree.home[variable]
        runs, shape, _ = _axes(tree, home, (variable,))
        tables[home] = (tables[home].reshape(runs) * vector.reshape(shape)).reshape(-1)
    return tables


def _axes(tree: CliqueTree, clique: int, part: Scope) -> tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]:
    return spread(tree.cards, tree.scopes[clique], part)
