"""One vehicle drawn from a network: every node's state, parents first."""

from collections.abc import Mapping

import numpy as np

from diag.network.gates import Gate
from diag.network.model import Network


def forward_sample(network: Network, numbers: np.random.Generator) -> dict[str, int]:
    """The number of every node's state."""
    drawn: dict[str, int] = {}
    for node in network:
        chances = np.clip(distribution(network, node, drawn), 0, None)
        drawn[node] = int(numbers.choice(len(chances), p=chances / chances.sum()))
    return drawn


def distribution(network: Network, node: str, states: Mapping[str, int]) -> np.ndarray:
    """P(node | its parents in these states); a gate is not written out."""
    parents = [states[parent] for parent in network[node].parents]
    local = network[node].local
    if not isinstance(local, Gate):
        return local.values[tuple(parents)]
    rows = [part[state] for part, state in zip(local.parts, parents, strict=True)]
    return local.mix @ np.prod([np.ones(local.mix.shape[1]), *rows], axis=0)
