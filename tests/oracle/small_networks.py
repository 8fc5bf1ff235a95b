"""Nodes of published examples, written as their tables are printed."""

from collections.abc import Sequence

import numpy as np

from diag.network.model import Node, Table


def yes_no(name: str, yes: "float | Sequence", *parents: str) -> Node:
    """A node of states no, yes; ``yes``: its probability, one axis (no, yes) a parent."""
    chance = np.asarray(yes, dtype=float)
    return Node(name, ("no", "yes"), parents, Table(np.stack([1 - chance, chance], axis=-1)))


def states(name: str, prior: Sequence[float], prefix: str = "s") -> Node:
    """A root with a prior; states s0, s1 ..."""
    return Node(name, tuple(f"{prefix}{i}" for i in range(len(prior))), (), Table(np.asarray(prior, dtype=float)))
