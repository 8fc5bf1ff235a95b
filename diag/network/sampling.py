"""One vehicle drawn from a network: the state of every node, parents first."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from diag.network.gates import Gate
from diag.network.model import Network

Array = npt.NDArray[np.float64]


def sample(network: Network, random: np.random.Generator) -> dict[str, int]:
    """The number of every node's state, drawn with the network's probabilities."""
    drawn: dict[str, int] = {}
    for node in network:
        chances = np.clip(_given_parents(network, node, drawn), 0.0, None)
        drawn[node] = int(random.choice(len(chances), p=chances / chances.sum()))
    return drawn


def _given_parents(network: Network, node: str, states: Mapping[str, int]) -> Array:
    """P(node | its parents in these states), shape (states,); a gate is not written out."""
    parents = [states[parent] for parent in network[node].parents]
    local = network[node].local
    if not isinstance(local, Gate):
        return np.asarray(local.values[tuple(parents)])
    rows = [part[state] for part, state in zip(local.parts, parents, strict=True)]
    products = np.prod([np.ones(local.mix.shape[1]), *rows], axis=0)
    return np.asarray(local.mix @ products)
