"""A tree as people see it: branches the likeliest first, shared ones opened once, improbable ones folded."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Literal

DEEPEST = 40  # levels; what lies deeper nobody follows on a page
BranchKind = Literal["effect", "cause", "background"]


@dataclass(frozen=True)
class Node:
    """One event of a tree before it is placed.

    key: equal for what is opened once. state: "hot or worse", or empty. prior and probability: before anything was
    recorded and now. gate: how its inputs bring it about ("or", "and", "k_of_n" with k); empty without inputs.
    stopped_by: what can keep it from coming about.
    """

    key: str
    id: str
    name: str
    kind: BranchKind
    prior: float
    probability: float
    state: str = ""
    gate: str = ""
    k: int = 0
    stopped_by: tuple[str, ...] = ()


@dataclass(frozen=True)
class Branch:
    """A node at its place in the tree.

    share: P(it is there and has passed on what is above it | top). on_path: on the likely path, which from the top
    down always follows the largest share. shared: opened further up. deeper: not opened, for the depth is reached.
    folded: how many of its inputs are not shown.
    """

    node: Node
    share: float
    on_path: bool
    shared: bool = False
    deeper: bool = False
    folded: int = 0
    inputs: tuple[Branch, ...] = field(default=())


@dataclass(frozen=True)
class Fold:
    """What is not shown: branches with a share below ``least``, and what lies deeper than ``depth`` levels."""

    least: float = 0.0
    depth: int = DEEPEST


Inputs = Callable[[Node], Sequence[tuple[Node, float]]]


def grow(top: Node, inputs: Inputs, fold: Fold) -> Branch:
    """Place the nodes below the top; ``inputs`` gives what brings a node about, each with its share."""
    return _grow(top, 1.0, True, inputs, fold, 1, set())


def _grow(node: Node, share: float, on_path: bool, inputs: Inputs, fold: Fold, level: int, opened: set[str]) -> Branch:
    branch = Branch(node, share, on_path)
    if not node.gate:
        return branch
    if node.key in opened:
        return replace(branch, shared=True)
    if level > fold.depth:
        return replace(branch, deeper=True)
    opened.add(node.key)
    found = sorted(inputs(node), key=lambda part: (-part[1], part[0].key))
    shown = [part for place, part in enumerate(found) if part[1] >= fold.least or (place == 0 and on_path)]
    below = tuple(
        _grow(part, weight, on_path and place == 0, inputs, fold, level + 1, opened)
        for place, (part, weight) in enumerate(shown)
    )
    return replace(branch, inputs=below, folded=len(found) - len(shown))


def walk(top: Branch) -> Iterator[Branch]:
    """Every branch, from the top down as it is read."""
    yield top
    for below in top.inputs:
        yield from walk(below)


def likely_path(branch: Branch) -> tuple[Node, ...]:
    """The nodes of the likely path, from the top down."""
    return tuple(one.node for one in walk(branch) if one.on_path)


def fitting(top: Node, inputs: Inputs, room: int, fold: Fold) -> tuple[Branch, Fold]:
    """The tree with as many branches as fit into so many lines, folding the least likely ones further, and how."""
    least = fold.least
    known = cache(inputs)
    while True:
        branch = grow(top, known, replace(fold, least=least))
        if least > 1 or sum(1 for _ in rows(branch)) <= room:
            return branch, replace(fold, least=least)
        least = max(least * 1.05, 0.001)


@dataclass(frozen=True)
class Row:
    """One line of a tree, as it is read. parent: the row that it belongs under, -1 for the top.

    Where ``branch`` is None the line says that so many inputs of the parent are ``folded``.
    """

    level: int
    parent: int
    branch: Branch | None
    folded: int = 0


def rows(top: Branch) -> Iterator[Row]:
    """The lines of a tree; what is folded stands below the inputs that are shown."""
    stack = [Row(0, -1, top)]
    place = 0
    while stack:
        row = stack.pop()
        yield row
        if row.branch:
            if row.branch.folded:
                stack.append(Row(row.level + 1, place, None, row.branch.folded))
            stack += [Row(row.level + 1, place, below) for below in reversed(row.branch.inputs)]
        place += 1
