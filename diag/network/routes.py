"""How messages run through a clique: which axes are summed, and in which order a table becomes matrices."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import prod

import numpy as np
import numpy.typing as npt

from diag.network.plan import CliqueTree, Scope


@dataclass(frozen=True, eq=False)
class Route:
    """How a message over the variables ``a`` is turned into one over ``b`` by a table over a clique.

    runs and summed bring the clique's table to the variables of a or b; axes orders them (shared, only in b,
    only in a), so that the table is ``blocks`` matrices; take and give are the orders of rows of a message.
    """

    runs: tuple[int, ...]
    summed: tuple[int, ...]
    cards: tuple[int, ...]
    axes: tuple[int, ...]
    blocks: tuple[int, int, int]
    take: npt.NDArray[np.intp] | None
    give: npt.NDArray[np.intp] | None


def route(tree: CliqueTree, clique: int, a: Scope, b: Scope) -> Route:
    """The route from ``a`` to ``b`` through a clique; both are parts of its scope, in its order."""
    key = (clique, a, b)
    if key not in tree.kept:
        tree.kept[key] = _route(tree, tree.scopes[clique], a, b)
    found: Route = tree.kept[key]
    return found


def _route(tree: CliqueTree, scope: Scope, a: Scope, b: Scope) -> Route:
    union = tuple(v for v in scope if v in a or v in b)
    shared = tuple(v for v in union if v in a and v in b)
    only_b, only_a = tuple(v for v in b if v not in a), tuple(v for v in a if v not in b)
    cards = tree.cards
    runs, _, summed = spread(cards, scope, union)
    return Route(
        runs=runs,
        summed=summed,
        cards=tuple(cards[v] for v in union),
        axes=tuple(union.index(v) for v in (*shared, *only_b, *only_a)),
        blocks=(_size(cards, shared), _size(cards, only_b), _size(cards, only_a)),
        take=_reordered(cards, a, (*shared, *only_a)),
        give=_reordered(cards, (*shared, *only_b), b),
    )


def spread(cards: Sequence[int], scope: Scope, part: Scope) -> tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]:
    """How ``part`` lies in ``scope``, neighbouring axes joined to runs.

    Returns the runs, the same with 1 where ``part`` has no axis, and the numbers of those runs.
    """
    runs: list[int] = []
    inside: list[bool] = []
    for variable in scope:
        if inside and inside[-1] == (variable in part):
            runs[-1] *= cards[variable]
        else:
            runs.append(cards[variable])
            inside.append(variable in part)
    shape = tuple(run if within else 1 for run, within in zip(runs, inside, strict=True))
    return tuple(runs), shape, tuple(axis for axis, within in enumerate(inside) if not within)


def _size(cards: Sequence[int], scope: Scope) -> int:
    return prod(cards[v] for v in scope)


def _reordered(cards: Sequence[int], given: Scope, wanted: Scope) -> npt.NDArray[np.intp] | None:
    """Rows of a table over ``given`` in the order of ``wanted``; None where that is the order they have."""
    if given == wanted:
        return None
    rows = np.arange(_size(cards, given)).reshape([cards[v] for v in given])
    return rows.transpose([given.index(v) for v in wanted]).reshape(-1)
