"""A network as text in the Bayesian interchange format (BIF 0.15), for other engines; nothing pruned.

A gate of more than eight parents stands as a chain of helper nodes ``ID~1``, ``ID~2`` ..., each taking some
parents further; summed out, the helpers change nothing.

References
----------
Cozman 1998, The interchange format for Bayesian networks (BIF 0.15).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
import numpy.typing as npt

from diag.network.chains import chained
from diag.network.model import Network, Node

Array = npt.NDArray[np.float64]

MOST_PARENTS = 8
# Parents that one node of a chain takes in, besides the chain itself.
LINK_PARENTS = 4


def bif(network: Network, name: str = "case") -> str:
    """The whole network as BIF text; numbers are written so that they come back equal."""
    written = Network(node for own in network.values() for node in chained(own, MOST_PARENTS, LINK_PARENTS))
    blocks = [f"network {name} {{\n}}\n"]
    blocks += [_variable(node) for node in written.values()]
    blocks += [_distribution(written, node) for node in written.values()]
    return "".join(blocks)


def evidence_beside(likelihood: Mapping[str, Array]) -> dict[str, list[float]]:
    """Evidence as {node: likelihood vector}, for the file beside the BIF."""
    return {node: vector.tolist() for node, vector in sorted(likelihood.items())}


def _variable(node: Node) -> str:
    states = ", ".join(node.states)
    return f"variable {node.id} {{\n  type discrete [ {len(node.states)} ] {{ {states} }};\n}}\n"


def _distribution(network: Network, node: Node) -> str:
    table = network.table(node.id)
    if not node.parents:
        return f"probability ( {node.id} ) {{\n  table {_numbers(table)};\n}}\n"
    head = f"probability ( {node.id} | {', '.join(node.parents)} ) {{\n"
    return head + "".join(_rows(network, node, table)) + "}\n"


def _rows(network: Network, node: Node, table: Array) -> Iterator[str]:
    for places in np.ndindex(*table.shape[:-1]):
        states = ", ".join(network[parent].states[i] for parent, i in zip(node.parents, places, strict=True))
        yield f"  ({states}) {_numbers(table[places])};\n"


def _numbers(row: Array) -> str:
    return ", ".join(repr(value) for value in row.tolist())
