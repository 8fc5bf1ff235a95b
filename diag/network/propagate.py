"""Numbers through a clique tree: Shafer-Shenoy propagation, many cases at once, no division.

Every table has shape (cells, B): the cells of a clique in the order of its scope, and one column a case. A
column differs from the common base only by factors on single variables (a *probe*), so a part of the tree that
no probe touches keeps B = 1 and is computed once. Gates in factored form put negative cells into tables, which
is why nothing is ever divided by.

References
----------
Shafer and Shenoy 1990, Probability propagation, Annals of Mathematics and AI 2, 327-351.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
import numpy.typing as npt

from diag.network.factors import Factors
from diag.network.plan import CELL_LIMIT, CliqueTree, Pattern, clique_tree

Array = npt.NDArray[np.float64]

Probe = Mapping[int, Array]


class Propagation:
    """Factors on their clique tree, ready to be run with probes."""

    def __init__(self, factors: Factors, limit: int = CELL_LIMIT) -> None:
        scopes = tuple(scope for scope, _ in factors.joint)
        self.factors = factors
        self.tree: CliqueTree = clique_tree(tuple(factors.cards), scopes, limit)
        self._tables = _clique_tables(self.tree, factors)

    def run(self, targets: Sequence[int], probes: Sequence[Probe] = ()) -> tuple[Array, list[Array]]:
        """Weights of the evidence, and of each target with it.

        targets: variables. probes: one a column, {variable: vector of its states}; none means one plain column.
        Returns (shape (B,), [shape (states, B) a target]); dividing the second by the first gives posteriors.
        """
        columns = max(len(probes), 1)
        tables = self._probed(probes)
        upward = self._collect(tables)
        root = len(tables) - 1
        total = np.broadcast_to(upward[root][0] if tables else np.ones(1), (columns,))
        weights = [np.empty((self.tree.cards[t], columns)) for t in targets]
        if targets:
            self._distribute(tables, upward, targets, weights)
        constant = self.factors.constant
        return total * constant, [weight * constant for weight in weights]

    def _probed(self, probes: Sequence[Probe]) -> list[Array]:
        tables = list(self._tables)
        touched: dict[int, list[int]] = {}
        for column, probe in enumerate(probes):
            for variable in probe:
                touched.setdefault(variable, []).append(column)
        for variable in sorted(touched):
            vectors = np.ones((self.tree.cards[variable], len(probes)))
            for column in touched[variable]:
                vectors[:, column] = probes[column][variable]
            home = self.tree.home[variable]
            tables[home] = _multiply(tables[home], vectors, self.tree.home_pattern[variable])
        return tables

    def _collect(self, tables: list[Array]) -> list[Array]:
        """Messages towards the root, shape (separator cells, B or 1) each; the root's is the total."""
        tree = self.tree
        upward: list[Array] = []
        for i, table in enumerate(tables):
            product = table
            for child in tree.children[i]:
                product = _multiply(product, upward[child], tree.separator[child])
            kept = tree.separator_cells[i]
            upward.append(product.reshape(-1, kept, product.shape[1]).sum(0))
        return upward

    def _distribute(
        self, tables: list[Array], upward: list[Array], targets: Sequence[int], weights: list[Array]
    ) -> None:
        tree = self.tree
        asked: dict[int, list[int]] = {}
        for place, target in enumerate(targets):
            asked.setdefault(tree.home[target], []).append(place)
        needed = _cliques_below_which(tree, asked)
        downward: dict[int, Array] = {}
        for i in range(len(tables) - 1, -1, -1):
            if not needed[i]:
                continue
            own = tables[i] if i not in downward else _multiply_tail(tables[i], downward.pop(i))
            own = self._send_down(i, own, upward, needed, downward, i in asked)
            for place in asked.get(i, ()):
                weights[place][:] = _sum_to(own, tree.home_pattern[targets[place]])

    def _send_down(
        self, i: int, own: Array, upward: list[Array], needed: Sequence[bool], downward: dict[int, Array], belief: bool
    ) -> Array:
        """Send to every child that needs it the product of all but its own message; return the belief."""
        tree = self.tree
        children = tree.children[i]
        after: list[Array] = []
        rest = None
        for child in reversed(children):
            after.append(rest)  # type: ignore[arg-type]
            message = _spread(upward[child], tree.separator[child], tree.cells[i])
            rest = message if rest is None else rest * message
        before = own
        for child, others in zip(children, reversed(after), strict=True):
            if needed[child]:
                product = before if others is None else before * others
                downward[child] = _sum_to(product, tree.separator[child])
            if belief or child != children[-1]:
                before = _multiply(before, upward[child], tree.separator[child])
        return before


def _cliques_below_which(tree: CliqueTree, asked: Iterable[int]) -> list[bool]:
    """For each clique: is a target in it or in the part of the tree that hangs from it?"""
    wanted = set(asked)
    needed = [i in wanted for i in range(len(tree.scopes))]
    for i, parent in enumerate(tree.parent):
        if needed[i] and parent >= 0:
            needed[parent] = True
    return needed


def _clique_tables(tree: CliqueTree, factors: Factors) -> list[Array]:
    tables = [np.ones((cells, 1)) for cells in tree.cells]
    rank = [{variable: place for place, variable in enumerate(scope)} for scope in tree.scopes]
    for (scope, values), home in zip(factors.joint, tree.factor_clique, strict=True):
        order = sorted(range(len(scope)), key=lambda axis: rank[home][scope[axis]])
        shape = [1] * len(tree.scopes[home])
        for axis in order:
            shape[rank[home][scope[axis]]] = values.shape[axis]
        clique_shape = tuple(tree.cards[v] for v in tree.scopes[home])
        tables[home] = (tables[home].reshape(clique_shape) * values.transpose(order).reshape(shape)).reshape(-1, 1)
    for variable, vector in enumerate(factors.unary):
        home = tree.home[variable]
        tables[home] = _multiply(tables[home], vector[:, None], tree.home_pattern[variable])
    return tables


def _multiply(table: Array, message: Array, pattern: Pattern) -> Array:
    columns = max(table.shape[1], message.shape[1])
    runs = table.reshape(*pattern.runs, table.shape[1])
    return np.asarray((runs * message.reshape(*pattern.spread, message.shape[1])).reshape(-1, columns))


def _multiply_tail(table: Array, message: Array) -> Array:
    """Multiply by what came from the parent: its variables are the tail of the clique's scope."""
    columns = max(table.shape[1], message.shape[1])
    runs = table.reshape(-1, message.shape[0], table.shape[1])
    return np.asarray((runs * message).reshape(-1, columns))


def _spread(message: Array, pattern: Pattern, cells: int) -> Array:
    columns = message.shape[1]
    shaped = message.reshape(*pattern.spread, columns)
    return np.asarray(np.broadcast_to(shaped, (*pattern.runs, columns)).reshape(cells, columns))


def _sum_to(table: Array, pattern: Pattern) -> Array:
    columns = table.shape[1]
    summed = table.reshape(*pattern.runs, columns).sum(pattern.summed)
    return np.asarray(summed.reshape(-1, columns))
