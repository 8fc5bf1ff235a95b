"""Numbers through a clique tree, many variants of the evidence at once.

A *column* is the common evidence and, on top, factors on single variables (a *probe*). Where only one message
into a clique differs from the common one, what goes out is a fixed matrix times that message, so all columns go
through together as one matrix product; only where two of a column's changes meet it is worked out cell by cell.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from diag.network.factors import Factors
from diag.network.messages import PARENT, Messages
from diag.network.plan import CELL_LIMIT, CliqueTooLarge, CliqueTree, Scope, clique_tree
from diag.network.routes import route, spread

Array = npt.NDArray[np.float64]
Columns = npt.NDArray[np.intp]

Probe = Mapping[int, Array]

# Columns times cells that are worked out cell by cell at once: about what a processor keeps near.
CHUNK_CELLS = 2**19

# Roundoffs that a sum over many signed columns may gather. A total this small would have no digit to trust anyway.
ROUNDOFFS = 1000


class Propagation:
    """Factors on their clique tree, ready to be run with probes."""

    def __init__(self, factors: Factors, limit: int = CELL_LIMIT) -> None:
        self.factors = factors
        scopes = tuple(scope for scope, _ in factors.joint)
        try:
            self.tree: CliqueTree = clique_tree(tuple(factors.cards), scopes, limit)
        except CliqueTooLarge as refused:
            raise refused.named(factors.names) from None
        self.messages = Messages(self.tree, factors)

    def rounding(self) -> float:
        """What rounding may leave of a total that is zero: the sum of all magnitudes times some unit roundoffs."""
        sizes = replace(
            self.factors,
            unary=[np.abs(vector) for vector in self.factors.unary],
            joint=[(scope, np.abs(values)) for scope, values in self.factors.joint],
        )
        root = len(self.tree.scopes) - 1
        magnitude = Messages(self.tree, sizes).product(root).sum() * abs(self.factors.constant)
        return float(magnitude * np.finfo(float).eps * ROUNDOFFS)

    def run(self, targets: Sequence[int], probes: Sequence[Probe] = ({},)) -> tuple[Array, list[Array]]:
        """Weights of the evidence, and of each target with it.

        targets: variables. probes: one a column, {variable: vector of its states}.
        Returns (shape (B,), [shape (states, B) a target]); dividing the second by the first gives posteriors.
        """
        return self._flow(targets, _Flow(self.messages, _at_home(self.tree, probes), len(probes)))

    def run_dense(self, targets: Sequence[int], factors: Probe, columns: int) -> tuple[Array, list[Array]]:
        """As ``run``, where every column has a factor on the same variables: {variable: shape (states, B)}."""
        own: dict[int, list[tuple[Scope, Columns, Array]]] = {}
        everyone = np.arange(columns)
        for clique, scope in _placed(self.tree, _cliques_of(self.tree, factors), frozenset(factors)):
            own.setdefault(clique, []).append((scope, everyone, _outer([factors[v] for v in scope])))
        return self._flow(targets, _Flow(self.messages, own, columns))

    def _flow(self, targets: Sequence[int], flow: _Flow) -> tuple[Array, list[Array]]:
        total, weights = flow.run(targets)
        constant = self.factors.constant
        return total * constant, [weight * constant for weight in weights]


class _Flow:
    """The messages of one run that differ from the common ones.

    own: each column's factors, by the clique where they are multiplied in: (variables, columns, values over them).
    changed[clique, port]: (columns, shape (cells of the separator, columns)) that came in by that port.
    """

    def __init__(self, messages: Messages, own: Mapping[int, list[tuple[Scope, Columns, Array]]], columns: int) -> None:
        self.messages = messages
        self.tree = messages.tree
        self.columns = columns
        self.own = own
        self.changed: dict[tuple[int, int], tuple[Columns, Array]] = {}

    def run(self, targets: Sequence[int]) -> tuple[Array, list[Array]]:
        """Collect, then distribute to where targets are."""
        tree, root = self.tree, len(self.tree.scopes) - 1
        wanted: dict[int, list[int]] = {}
        for place, target in enumerate(targets):
            wanted.setdefault(tree.home[target], []).append(place)
        needed = _holding_or_above(tree, wanted)
        for i, parent in enumerate(tree.parent):
            if parent >= 0:
                self._keep(parent, i, self._send(i, PARENT, tree.separators[i]))
        total = self._whole(root, (), self._send(root, None, ()))[0]
        weights = [np.empty(0)] * len(targets)
        for i in range(root, -1, -1):
            for place in wanted.get(i, ()):
                scope = (targets[place],)
                weights[place] = self._whole(i, scope, self._send(i, None, scope))
            for child in tree.children[i]:
                if needed[child]:
                    self._keep(child, PARENT, self._send(i, child, tree.separators[child]))
        return total, weights

    def _keep(self, clique: int, port: int, sent: list[tuple[Columns, Array]]) -> None:
        if sent:
            columns, values = zip(*sent, strict=True)
            self.changed[clique, port] = (np.concatenate(columns), np.concatenate(values, axis=1))

    def _whole(self, clique: int, scope: Scope, sent: list[tuple[Columns, Array]]) -> Array:
        """All columns over ``scope``: those that were sent, and the common value for the others."""
        base = self.messages.sum_to(clique, self.messages.product(clique), scope)
        values = np.repeat(base[:, None], self.columns, axis=1)
        for columns, sent_values in sent:
            values[:, columns] = sent_values
        return values

    def _send(self, clique: int, out: int | None, scope: Scope) -> list[tuple[Columns, Array]]:
        """What leaves a clique over ``scope`` by port ``out`` (None: stays), in groups of columns.

        The columns of a group differ from the common messages at the same ports; columns that differ at none
        are not listed.
        """
        ports = [port for port in self.messages.ports(clique) if port != out and (clique, port) in self.changed]
        sent = []
        for inputs, columns in self._groups(clique, ports):
            sent.append((columns, self._through(clique, out, inputs, scope)))
        return sent

    def _groups(
        self, clique: int, ports: Sequence[int]
    ) -> Iterator[tuple[list[tuple[Scope, int | None, Array]], Columns]]:
        """Columns by what differs in them: per group (scope, port or None for a probe here, values), and columns."""
        sources: list[tuple[Scope, int | None, Columns, Array]] = [
            (self.messages.separator(clique, port), port, *self.changed[clique, port]) for port in ports
        ]
        sources += [(scope, None, columns, values) for scope, columns, values in self.own.get(clique, ())]
        if len(sources) == 1:
            scope, port, columns, values = sources[0]
            yield [(scope, port, values)], columns
            return
        places = np.full((len(sources), self.columns), -1, dtype=np.intp)
        for row, (_, _, columns, _) in enumerate(sources):
            places[row, columns] = np.arange(len(columns))
        codes = (1 << np.arange(len(sources))) @ (places >= 0)
        for code in np.unique(codes[codes > 0]).tolist():
            chosen = np.flatnonzero(codes == code)
            rows = [row for row in range(len(sources)) if code >> row & 1]
            yield [(sources[r][0], sources[r][1], sources[r][3][:, places[r, chosen]]) for r in rows], chosen

    def _through(
        self, clique: int, out: int | None, inputs: list[tuple[Scope, int | None, Array]], scope: Scope
    ) -> Array:
        closed = [port for _, port, _ in inputs if port is not None]
        table = self.messages.product(clique, closed if out is None else (*closed, out))
        if len(inputs) == 1:
            return self._matrix(clique, table, inputs[0][0], scope, inputs[0][2])
        return self._cell_by_cell(clique, table, inputs, scope)

    def _matrix(self, clique: int, table: Array, a: Scope, b: Scope, values: Array) -> Array:
        way = route(self.tree, clique, a, b)
        shared, only_b, only_a = way.blocks
        matrix = table.reshape(way.runs).sum(way.summed).reshape(way.cards).transpose(way.axes)
        taken = values if way.take is None else values[way.take]
        given = matrix.reshape(shared, only_b, only_a) @ taken.reshape(shared, only_a, -1)
        given = np.asarray(given.reshape(shared * only_b, -1))
        return given if way.give is None else given[way.give]

    def _cell_by_cell(
        self, clique: int, table: Array, inputs: list[tuple[Scope, int | None, Array]], scope: Scope
    ) -> Array:
        """Multiply several changed messages into the table, then sum to ``scope``; a few columns at a time."""
        union = set(scope).union(*(a for a, _, _ in inputs))
        kept = tuple(v for v in self.tree.scopes[clique] if v in union)
        base = self.messages.sum_to(clique, table, kept)
        columns = inputs[0][2].shape[1]
        step = max(1, CHUNK_CELLS // max(len(base), 1))
        parts = []
        for start in range(0, columns, step):
            product = base[:, None]
            for a, _, values in inputs:
                product = self._times(product, kept, a, values[:, start : start + step])
            parts.append(self._sum_columns(product, kept, scope))
        return parts[0] if len(parts) == 1 else np.concatenate(parts, axis=1)

    def _times(self, product: Array, kept: Scope, a: Scope, values: Array) -> Array:
        runs, shape, _ = spread(self.tree.cards, kept, a)
        table = product.reshape(*runs, product.shape[1]) * values.reshape(*shape, values.shape[1])
        return table.reshape(len(product), -1)

    def _sum_columns(self, product: Array, kept: Scope, scope: Scope) -> Array:
        runs, _, summed = spread(self.tree.cards, kept, scope)
        return np.asarray(product.reshape(*runs, product.shape[1]).sum(summed)).reshape(-1, product.shape[1])


def _at_home(tree: CliqueTree, probes: Sequence[Probe]) -> dict[int, list[tuple[Scope, Columns, Array]]]:
    """Where each column's own factors are multiplied in: per clique (variables, columns, values over them).

    A column's factors go together into one clique where one holds all its variables.
    """
    holding = _cliques_of(tree, {v for probe in probes for v in probe})
    alike: dict[frozenset[int], list[int]] = {}
    for column, probe in enumerate(probes):
        alike.setdefault(frozenset(probe), []).append(column)
    groups: dict[tuple[int, Scope], list[int]] = {}
    for changed, columns in alike.items():
        for place in _placed(tree, holding, changed):
            groups.setdefault(place, []).extend(columns)
    found: dict[int, list[tuple[Scope, Columns, Array]]] = {}
    for (clique, variables), columns in groups.items():
        values = np.stack([_outer([probes[c][v] for v in variables]) for c in columns], axis=1)
        found.setdefault(clique, []).append((variables, np.array(columns), values))
    return found


def _cliques_of(tree: CliqueTree, variables: Iterable[int]) -> dict[int, list[int]]:
    """For each variable the cliques that hold it, smallest first."""
    holding: dict[int, list[int]] = {v: [] for v in variables}
    for i in sorted(range(len(tree.scopes)), key=lambda i: (tree.cells[i], i)):
        for v in tree.scopes[i]:
            if v in holding:
                holding[v].append(i)
    return holding


def _placed(
    tree: CliqueTree, holding: Mapping[int, list[int]], variables: frozenset[int]
) -> Iterator[tuple[int, Scope]]:
    """Cover the variables by few cliques: always the one that holds most of what is left, the smallest of them."""
    left = set(variables)
    while left:
        counts: dict[int, int] = {}
        for v in left:
            for clique in holding[v]:
                counts[clique] = counts.get(clique, 0) + 1
        clique = min(counts, key=lambda i: (-counts[i], tree.cells[i], i))
        inside = tuple(v for v in tree.scopes[clique] if v in left)
        left.difference_update(inside)
        yield clique, inside


def _outer(vectors: Sequence[Array]) -> Array:
    """Products of all combinations of states; vectors: shape (states,) or (states, B), which are kept apart."""
    product = vectors[0]
    for vector in vectors[1:]:
        product = (product[:, None] * vector[None, :]).reshape(-1, *vector.shape[1:])
    return product


def _holding_or_above(tree: CliqueTree, wanted: Iterable[int]) -> list[bool]:
    """For each clique: is a target in it or in the part of the tree that hangs from it?"""
    chosen = set(wanted)
    needed = [i in chosen for i in range(len(tree.scopes))]
    for i, parent in enumerate(tree.parent):
        if needed[i] and parent >= 0:
            needed[parent] = True
    return needed
