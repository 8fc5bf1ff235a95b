"""A network in which some nodes are held in one state, those nodes left out: gates become narrower."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from diag.network.gates import Gate
from diag.network.model import Network, Node, Table


def pinned(network: Network, held: Mapping[str, int]) -> Network:
    """P(the other nodes | the held ones are in these states, by number), for held nodes without parents.

    Where a held node has parents the answer would need its probability too; that is a ValueError.
    """
    for id in held:
        if network[id].parents:
            raise ValueError(f"{id!r} has parents; only roots can be held")
    return Network(_narrowed(node, held) for node in network.values() if node.id not in held)


def _narrowed(node: Node, held: Mapping[str, int]) -> Node:
    if not any(parent in held for parent in node.parents):
        return node
    kept = tuple(parent for parent in node.parents if parent not in held)
    if isinstance(node.local, Table):
        places = tuple(held.get(parent, slice(None)) for parent in node.parents)
        return Node(node.id, node.states, kept, Table(node.local.values[places]))
    mix, parts = node.local.mix, []
    for parent, part in zip(node.parents, node.local.parts, strict=True):
        if parent in held:
            mix = mix * part[held[parent]][None, :]
        else:
            parts.append(part)
    return Node(node.id, node.states, kept, Gate(np.asarray(mix), tuple(parts)))
