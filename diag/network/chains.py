"""A gate with many parents as a chain of helper nodes with few parents each: wider cliques, but no signs.

The parts of a gate are cumulative over its products (they grow to 1), so parents taken together act like one parent
with as many states as there are products. Summed out, the helpers change nothing.
"""

from __future__ import annotations

import numpy as np

from diag.network.gates import Gate
from diag.network.model import Node


def chained(node: Node, most: int, link: int) -> list[Node]:
    """The helpers ``ID~1``, ``ID~2`` ... and the node, or the node alone where it has at most ``most`` parents.

    link: how many parents a helper takes in besides the chain itself; the node keeps at most ``link`` + 1.
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
    while len(parents) > link + 1:
        helper = f"{node.id}~{len(chain) + 1}"
        taken = Gate(differences, tuple(parts[: link + 1]))
        chain.append(Node(helper, states, tuple(parents[: link + 1]), taken))
        parents, parts = [helper, *parents[link + 1 :]], [through, *parts[link + 1 :]]
    return [*chain, Node(node.id, node.states, tuple(parents), Gate(gate.mix, tuple(parts)))]
