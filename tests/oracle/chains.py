"""Any gate as plain tables: written out where it is small, else one small table a parent along a chain."""

from collections.abc import Iterator

import numpy as np
from oracle.agrum import Tabled

from diag.network.gates import Gate
from diag.network.model import Network, Node

LARGEST_TABLE = 16


def plain_tables(network: Network) -> Iterator[Tabled]:
    """The network without gates; a noisy-MAX of many parents becomes the running maximum of its parents' throws."""
    for node in network.values():
        if isinstance(node.local, Gate) and np.prod(node.local.shape) > LARGEST_TABLE:
            yield from _chain(node, node.local)
        else:
            yield node.id, node.parents, network.table(node.id)


def _chain(node: Node, gate: Gate) -> Iterator[Tabled]:
    """The highest so far, parent by parent; the leak throws together with the first parent."""
    leak = throws(_leak_below(gate))
    last = len(node.parents) - 1
    before: tuple[str, ...] = ()
    for place, (parent, part) in enumerate(zip(node.parents, gate.parts, strict=True)):
        name = node.id if place == last else f"{node.id}~{place}"
        if before:
            yield name, (*before, parent), np.stack([highest(own, throws(part)) for own in np.eye(len(leak))])
        else:
            yield name, (parent,), highest(leak, throws(part))
        before = (name,)


def _leak_below(gate: Gate) -> np.ndarray:
    """P(leak throws this state or a lower one); the gate must be a plain noisy-MAX."""
    below = np.diag(gate.mix)
    expected = np.diag(below) - np.diag(below[:-1], -1)
    assert np.array_equal(gate.mix, expected), "this gate is no plain noisy-MAX"
    return below


def throws(below: np.ndarray) -> np.ndarray:
    """P(state) from P(state or a lower one), last axis the states."""
    return np.diff(below, axis=-1, prepend=0.0)


def highest(first: np.ndarray, second: np.ndarray) -> np.ndarray:
    """Distribution of the higher of two throws; first: shape (S,); second and the answer: (parent states, S)."""
    table = np.zeros_like(second)
    for a, b in np.ndindex(len(first), second.shape[1]):
        table[:, max(a, b)] += first[a] * second[:, b]
    return table
