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

from diag.network.gates import Gate
from diag.network.model import Network, Node

Array = npt.NDArray[np.float64]

MOST_PARENTS = 8
# Parents that one node of a chain takes in, besides the chain itself.
LINK_PARENTS = 4


def bif(network: Network, name: str = "case") -> str:
    """The whole network as BIF text; numbers are written so that they come back equal."""
    written = Network(node for own in network.values() for node in chained(own))
    blocks = [f"network {name} {{\n}}\n"]
    blocks += [_variable(node) for node in written.values()]
    blocks += [_distribution(written, node) for node in written.values()]
    return "".join(blocks)


def evidence_beside(likelihood: Mapping[str, Array]) -> dict[str, list[float]]:
    """Evidence as {node: likelihood vector}, for the file beside the BIF."""
    return {node: vector.tolist() for node, vector in sorted(likelihood.items())}


def chained(node: Node, most: int = MOST_PARENTS) -> list[Node]:
    """The node, or a chain of helpers and the node where its gate has more than ``most`` parents.

    The parts of a gate are cumulative over its products (they grow to 1), so parents taken together act like one
    parent with as many states as there are products.
    """
    gate = node.local
    if not isinstance(gate, Gate) or len(node.parents) <= most:
        return [node]
    products = gate.mix.shape[1]
    states = tuple(f"s{r}" for r in range(products))
    through = np.triu(np.ones((products, products)))
    differences = np.eye(products) - np.eye(products, k=-1)
    chain: list[Node] = []
    parents, parts = list(node.parents), list(gate.parts)
    while len(parents) > LINK_PARENTS + 1:
        taken, parents = parents[: LINK_PARENTS + 1], parents[LINK_PARENTS + 1 :]
        taken_parts, parts = parts[: LINK_PARENTS + 1], parts[LINK_PARENTS + 1 :]
        helper = f"{node.id}~{len(chain) + 1}"
        chain.append(Node(helper, states, tuple(taken), Gate(differences, tuple(taken_parts))))
        parents, parts = [helper, *parents], [through, *parts]
    return [*chain, Node(node.id, node.states, tuple(parents), Gate(gate.mix, tuple(parts)))]


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
