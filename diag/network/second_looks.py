"""A second look at a finding is no second independent proof: it may only repeat what misled the first.

With probability ``copies`` (one node for all later looks at a finding) a later look shows what the first one
showed; else it is a new draw from the same parents.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from diag.network.model import Node, Table

YES_NO = ("no", "yes")


def look_id(finding: str, number: int) -> str:
    """The node of the second, third ... look; the first is the finding itself."""
    return f"{finding}~look{number}"


def later_looks(first: Node, looks: int, copies: float) -> list[Node]:
    """The nodes that a finding with this many looks needs beside its own."""
    repeats = f"{first.id}~repeats"
    nodes = [Node(repeats, YES_NO, (), Table(np.array([1 - copies, copies])))]
    for number in range(2, looks + 1):
        draw = f"{first.id}~draw{number}"
        nodes.append(Node(draw, first.states, first.parents, first.local))
        nodes.append(_look(first, number, repeats, draw))
    return nodes


def _look(first: Node, number: int, repeats: str, draw: str) -> Node:
    same: Sequence[int] = range(len(first.states))
    table = np.zeros((2, len(same), len(same), len(same)))
    for state in same:
        table[1, state, :, state] = 1.0
        table[0, :, state, state] = 1.0
    return Node(look_id(first.id, number), first.states, (repeats, first.id, draw), Table(table))
