"""The order of elimination and the clique tree, from structure alone: no probability is looked at here.

References
----------
Lauritzen and Spiegelhalter 1988, JRSS B 50, 157-224 (clique trees).
Kjaerulff 1990, Triangulation of graphs (min-fill and min-weight orders).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import prod

CELL_LIMIT = 2**18

Scope = tuple[int, ...]
Weigh = Callable[[int, Sequence[int], Sequence[int]], tuple[int, int]]


class CliqueTooLarge(ValueError):
    """The largest clique would not fit under the limit; ``variables`` says which clique it is."""

    def __init__(self, variables: Scope, cells: int, limit: int) -> None:
        super().__init__(f"a clique of {len(variables)} variables needs {cells} cells, the limit is {limit}")
        self.variables = variables
        self.cells = cells
        self.limit = limit


@dataclass(frozen=True, slots=True)
class Pattern:
    """How a subset of a clique's variables lies in it, neighbouring axes joined to runs.

    runs: the clique's shape, joined; spread: the same with 1 where the subset has no axis;
    summed: the axes of ``runs`` that the subset lacks.
    """

    runs: tuple[int, ...]
    spread: tuple[int, ...]
    summed: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class CliqueTree:
    """Cliques in collecting order: children before parents, the root last.

    Scopes are sorted by elimination, so what a clique passes to its parent is the tail of its scope.
    """

    cards: tuple[int, ...]
    scopes: tuple[Scope, ...]
    parent: tuple[int, ...]
    children: tuple[tuple[int, ...], ...]
    cells: tuple[int, ...]
    separator_cells: tuple[int, ...]
    separator: tuple[Pattern, ...]
    home: tuple[int, ...]
    home_pattern: tuple[Pattern, ...]
    factor_clique: tuple[int, ...]

    @property
    def largest(self) -> int:
        """Cells of the largest clique."""
        return max(self.cells, default=1)

    @property
    def total(self) -> int:
        """Cells of all cliques together."""
        return sum(self.cells)


@lru_cache(maxsize=512)
def clique_tree(cards: tuple[int, ...], scopes: tuple[Scope, ...], limit: int = CELL_LIMIT) -> CliqueTree:
    """Plan the elimination of all variables.

    cards: number of states of each variable; scopes: the variables of each factor, sorted or not.
    Raises CliqueTooLarge where no order that was tried stays within ``limit`` cells a clique.
    """
    best = min(
        (_eliminate(cards, scopes, weigh) for weigh in (_fill_then_cells, _cells_then_fill)),
        key=lambda found: (max((cells for *_, cells in found), default=0), sum(cells for *_, cells in found)),
    )
    for variable, neighbours, cells in best:
        if cells > limit:
            raise CliqueTooLarge((variable, *_bits(neighbours)), cells, limit)
    return _tree(cards, scopes, best)


def _eliminate(cards: Sequence[int], scopes: Sequence[Scope], weigh: Weigh) -> list[tuple[int, int, int]]:
    """Greedy order: (variable, neighbours as bits, cells of its clique), cheapest first, ties by number."""
    near = [0] * len(cards)
    for scope in scopes:
        together = 0
        for variable in scope:
            together |= 1 << variable
        for variable in scope:
            near[variable] |= together & ~(1 << variable)
    open_bits = (1 << len(cards)) - 1
    score = {v: weigh(v, near, cards) for v in range(len(cards))}
    found = []
    while open_bits:
        variable = min(score, key=lambda v: (score[v], v))
        neighbours = near[variable]
        found.append((variable, neighbours, _cells(variable, neighbours, cards)))
        del score[variable]
        open_bits &= ~(1 << variable)
        touched = neighbours
        for other in _bits(neighbours):
            near[other] = (near[other] | neighbours) & ~(1 << other) & ~(1 << variable)
            touched |= near[other]
        for other in _bits(touched & open_bits):
            score[other] = weigh(other, near, cards)
    return found


def _fill_then_cells(variable: int, near: Sequence[int], cards: Sequence[int]) -> tuple[int, int]:
    neighbours = near[variable]
    missing = 0
    for other in _bits(neighbours):
        missing += (neighbours & ~near[other]).bit_count() - 1
    return missing, _cells(variable, neighbours, cards)


def _cells_then_fill(variable: int, near: Sequence[int], cards: Sequence[int]) -> tuple[int, int]:
    missing, cells = _fill_then_cells(variable, near, cards)
    return cells, missing


def _cells(variable: int, neighbours: int, cards: Sequence[int]) -> int:
    cells = cards[variable]
    for other in _bits(neighbours):
        cells *= cards[other]
    return cells


def _bits(bits: int) -> Iterator[int]:
    while bits:
        low = bits & -bits
        yield low.bit_length() - 1
        bits ^= low


def _tree(cards: tuple[int, ...], scopes: Sequence[Scope], found: Sequence[tuple[int, int, int]]) -> CliqueTree:
    rank = {variable: place for place, (variable, *_) in enumerate(found)}
    cliques = [(variable, *sorted(_bits(neighbours), key=rank.__getitem__)) for variable, neighbours, _ in found]
    parents = [rank[clique[1]] if len(clique) > 1 else -1 for clique in cliques]
    kept, parent = _absorb(cliques, parents)
    return _describe(cards, scopes, rank, [cliques[i] for i in kept], parent)


def _absorb(cliques: list[Scope], parents: list[int]) -> tuple[list[int], list[int]]:
    """Drop every clique that is a part of the one below it; join the components under the last root."""
    stands_for = list(range(len(cliques)))
    above = list(parents)
    for i in range(len(cliques)):
        p = above[i]
        while p >= 0 and stands_for[p] == p and set(cliques[p]) <= set(cliques[i]):
            stands_for[p] = i
            p = parents[p]
        above[i] = p

    def find(i: int) -> int:
        while stands_for[i] != i:
            i = stands_for[i]
        return i

    kept = [i for i in range(len(cliques)) if stands_for[i] == i]
    parent_of = {i: (find(above[i]) if above[i] >= 0 else -1) for i in kept}
    order = _children_first(kept, parent_of)
    place = {clique: index for index, clique in enumerate(order)}
    root = len(order) - 1
    parent = [place[parent_of[i]] if parent_of[i] >= 0 else (root if place[i] != root else -1) for i in order]
    return order, parent


def _children_first(kept: Sequence[int], parent_of: dict[int, int]) -> list[int]:
    below: dict[int, list[int]] = {i: [] for i in kept}
    for i in kept:
        if parent_of[i] >= 0:
            below[parent_of[i]].append(i)
    order: list[int] = []
    for root in (i for i in kept if parent_of[i] < 0):
        stack = [root]
        tree = []
        while stack:
            i = stack.pop()
            tree.append(i)
            stack.extend(below[i])
        order.extend(reversed(tree))
    return order


def _describe(
    cards: tuple[int, ...], scopes: Sequence[Scope], rank: dict[int, int], cliques: list[Scope], parent: list[int]
) -> CliqueTree:
    members = [frozenset(clique) for clique in cliques]
    cells = [prod(cards[v] for v in clique) for clique in cliques]
    shared = [members[i] & members[p] if p >= 0 else frozenset() for i, p in enumerate(parent)]
    children: list[list[int]] = [[] for _ in cliques]
    for i, p in enumerate(parent):
        if p >= 0:
            children[p].append(i)
    holding: dict[int, list[int]] = {}
    for i, clique in enumerate(cliques):
        for v in clique:
            holding.setdefault(v, []).append(i)
    home = [min(holding[v], key=lambda i: (cells[i], i)) for v in range(len(cards))]
    return CliqueTree(
        cards=cards,
        scopes=tuple(cliques),
        parent=tuple(parent),
        children=tuple(tuple(below) for below in children),
        cells=tuple(cells),
        separator_cells=tuple(prod(cards[v] for v in s) for s in shared),
        separator=tuple(
            _pattern(cliques[p], shared[i], cards) if p >= 0 else Pattern((), (), ()) for i, p in enumerate(parent)
        ),
        home=tuple(home),
        home_pattern=tuple(_pattern(cliques[home[v]], frozenset((v,)), cards) for v in range(len(cards))),
        factor_clique=tuple(
            min(
                (i for i in holding[min(scope, key=rank.__getitem__)] if members[i].issuperset(scope)),
                key=lambda i: (cells[i], i),
            )
            for scope in scopes
        ),
    )


def _pattern(clique: Scope, subset: frozenset[int], cards: Sequence[int]) -> Pattern:
    runs: list[int] = []
    kept: list[bool] = []
    for variable in clique:
        inside = variable in subset
        if kept and kept[-1] == inside:
            runs[-1] *= cards[variable]
        else:
            runs.append(cards[variable])
            kept.append(inside)
    spread = tuple(run if inside else 1 for run, inside in zip(runs, kept, strict=True))
    summed = tuple(axis for axis, inside in enumerate(kept) if not inside)
    return Pattern(tuple(runs), spread, summed)
