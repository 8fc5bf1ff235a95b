"""The order of elimination and the clique tree, from structure alone: no probability is looked at here.

References
----------
Lauritzen and Spiegelhalter 1988, JRSS B 50, 157-224 (clique trees).
Kjaerulff 1990, Triangulation of graphs (min-fill and min-weight orders).
Shenoy 1997, Binary join trees for computing marginals, Int. J. Approximate Reasoning 17, 239-263.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import combinations
from math import prod
from typing import Any

# 8 MB a table. The tables carry no axis for the initiating cause, so this is less memory than 2^18 cells for each of a
# hundred causes would be; sixty findings all out of the ordinary need 2^19 on the shipped knowledge.
CELL_LIMIT = 2**20

Scope = tuple[int, ...]
Weigh = Callable[[int, Sequence[int], Sequence[int]], tuple[int, int]]


class CliqueTooLarge(ValueError):
    """The largest clique would not fit under the limit.

    ``variables`` says which clique it is; ``names`` tells them, a helper as its node with ``~``, once they are known.
    """

    def __init__(self, variables: Scope, cells: int, limit: int, names: tuple[str, ...] = ()) -> None:
        which = f" ({', '.join(names[:4])}{' ...' if len(names) > 4 else ''})" if names else ""
        super().__init__(f"a clique of {len(variables)} variables{which} needs {cells} cells, the limit is {limit}")
        self.variables = variables
        self.cells = cells
        self.limit = limit
        self.names = names

    def named(self, names: Sequence[str]) -> CliqueTooLarge:
        """The same with the names of the variables; ``names``: of all variables, by number."""
        return CliqueTooLarge(self.variables, self.cells, self.limit, tuple(names[v] for v in self.variables))


@dataclass(frozen=True, eq=False)
class CliqueTree:
    """Cliques in collecting order: children before parents, the root last; two children each at most.

    scopes: variables of each clique, in the order of elimination. separators: what each shares with its parent,
    in the same order, () at the root. home: for each variable the smallest clique that holds it.
    factor_clique: for each factor the smallest clique that holds its scope.
    """

    cards: tuple[int, ...]
    scopes: tuple[Scope, ...]
    separators: tuple[Scope, ...]
    parent: tuple[int, ...]
    children: tuple[tuple[int, ...], ...]
    cells: tuple[int, ...]
    home: tuple[int, ...]
    factor_clique: tuple[int, ...]

    @property
    def largest(self) -> int:
        """Cells of the largest clique."""
        return max(self.cells, default=1)

    @property
    def total(self) -> int:
        """Cells of all cliques together."""
        return sum(self.cells)

    @cached_property
    def kept(self) -> dict[tuple[int, Scope, Scope], Any]:
        """Room for what is worked out from the tree alone (see routes), so that one plan serves many runs."""
        return {}


@lru_cache(maxsize=512)
def clique_tree(cards: tuple[int, ...], scopes: tuple[Scope, ...], limit: int = CELL_LIMIT) -> CliqueTree:
    """Plan the elimination of all variables.

    cards: number of states of each variable; scopes: the variables of each factor, sorted or not.
    Raises CliqueTooLarge where no order that was tried stays within ``limit`` cells a clique.
    """
    best = min(
        (_eliminate(cards, scopes, weigh, limit) for weigh in (_fill_then_cells, _cells_then_fill)),
        key=lambda found: (max((cells for *_, cells in found), default=0), sum(cells for *_, cells in found)),
    )
    for variable, neighbours, cells in best:
        if cells > limit:
            raise CliqueTooLarge((variable, *_bits(neighbours)), cells, limit)
    return _tree(cards, scopes, best)


def _eliminate(cards: Sequence[int], scopes: Sequence[Scope], weigh: Weigh, limit: int) -> list[tuple[int, int, int]]:
    """Greedy order: (variable, neighbours as bits, cells of its clique), cheapest first, ties by number.

    It ends with the first clique above ``limit``: such an order is of no use.
    """
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
        if found[-1][2] > limit:
            break
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
    parent_of = _absorb(cliques, parents)
    if not cliques:
        cliques, parent_of = [()], {0: -1}
    _make_binary(cliques, parent_of, cards, rank)
    order = _children_first(list(parent_of), parent_of)
    place = {clique: index for index, clique in enumerate(order)}
    root = len(order) - 1
    parent = [place[parent_of[i]] if parent_of[i] >= 0 else (root if place[i] != root else -1) for i in order]
    return _describe(cards, scopes, rank, [cliques[i] for i in order], parent)


def _make_binary(
    cliques: list[Scope], parent_of: dict[int, int], cards: Sequence[int], rank: Mapping[int, int]
) -> None:
    """Give every clique two children at most, by small cliques that join the separators of two (Shenoy 1997).

    Components get a common root first, the last one's, so that the tree is one.
    """
    roots = [i for i, p in parent_of.items() if p < 0]
    for root in roots[:-1]:
        parent_of[root] = roots[-1]
    children: dict[int, list[int]] = {}
    for i, p in parent_of.items():
        children.setdefault(p, []).append(i)
    for clique in [c for c in children if c >= 0]:
        below = {i: frozenset(cliques[i]) & frozenset(cliques[clique]) for i in children[clique]}
        while len(below) > 2:
            first, second = _smallest_join(below, cards)
            joined = below.pop(first) | below.pop(second)
            cliques.append(tuple(sorted(joined, key=rank.__getitem__)))
            new = len(cliques) - 1
            parent_of[first] = parent_of[second] = new
            parent_of[new] = clique
            below[new] = joined


def _smallest_join(below: Mapping[int, frozenset[int]], cards: Sequence[int]) -> tuple[int, int]:
    """The two children whose separators together have the fewest cells; only the smallest few are tried."""
    small = sorted(below, key=lambda i: (prod(cards[v] for v in below[i]), i))[:8]
    return min(combinations(small, 2), key=lambda pair: (prod(cards[v] for v in below[pair[0]] | below[pair[1]]), pair))


def _absorb(cliques: list[Scope], parents: list[int]) -> dict[int, int]:
    """Drop every clique that is a part of the one below it; the parent of each that is kept, -1 for a root."""
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
    return {i: (find(above[i]) if above[i] >= 0 else -1) for i in kept}


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
    cards: tuple[int, ...], scopes: Sequence[Scope], rank: Mapping[int, int], cliques: list[Scope], parent: list[int]
) -> CliqueTree:
    members = [frozenset(clique) for clique in cliques]
    cells = [prod(cards[v] for v in clique) for clique in cliques]
    children: list[list[int]] = [[] for _ in cliques]
    for i, p in enumerate(parent):
        if p >= 0:
            children[p].append(i)
    holding: dict[int, list[int]] = {}
    for i in sorted(range(len(cliques)), key=lambda i: (cells[i], i)):
        for v in cliques[i]:
            holding.setdefault(v, []).append(i)
    return CliqueTree(
        cards=cards,
        scopes=tuple(cliques),
        separators=tuple(
            tuple(v for v in clique if p >= 0 and v in members[p]) for clique, p in zip(cliques, parent, strict=True)
        ),
        parent=tuple(parent),
        children=tuple(tuple(below) for below in children),
        cells=tuple(cells),
        home=tuple(holding[v][0] for v in range(len(cards))),
        factor_clique=tuple(
            next(i for i in holding[min(scope, key=rank.__getitem__)] if members[i].issuperset(scope))
            for scope in scopes
        ),
    )
