"""The slow engine that is obviously right: one table of P(all nodes, e), and every answer a sum over it.

States that the evidence excludes are left out from the start; nothing else is clever here.
"""

from collections.abc import Iterable, Mapping, Sequence
from math import log2, prod

import numpy as np

from diag.network.model import Network

CELL_LIMIT = 2**22

Told = Mapping[str, "str | Sequence[float] | np.ndarray"]


class Enumeration:
    """A small network under evidence, summed out in full.

    ``tables`` replaces the tables of the network, {node: axes parents in order, then the node}.
    """

    def __init__(self, network: Network, evidence: Told, tables: Mapping[str, np.ndarray] | None = None) -> None:
        self.network = network
        self.nodes = list(network)
        told = {node: _likelihood(network[node].states, evidence.get(node)) for node in network}
        self.possible = {node: np.flatnonzero(told[node]) for node in network}
        if prod(len(states) for states in self.possible.values()) > CELL_LIMIT:
            raise ValueError("too many cells to enumerate")
        self.joint_with_evidence = np.ones([len(self.possible[node]) for node in network])
        for node in network:
            values = (tables or {}).get(node)
            self._multiply((*network[node].parents, node), network.table(node) if values is None else values)
            self._multiply((node,), told[node])

    def _multiply(self, scope: Sequence[str], values: np.ndarray) -> None:
        """Take in one factor, axes in the order of ``scope``."""
        kept = values[np.ix_(*(self.possible[node] for node in scope))]
        places = [self.nodes.index(node) for node in scope]
        order = sorted(range(len(scope)), key=lambda axis: places[axis])
        shape = [len(self.possible[node]) if node in scope else 1 for node in self.nodes]
        self.joint_with_evidence = self.joint_with_evidence * kept.transpose(order).reshape(shape)

    def probability_of_evidence(self) -> float:
        return float(self.joint_with_evidence.sum())

    def weight(self, nodes: Sequence[str]) -> np.ndarray:
        """P(nodes, e), one axis a node in the order given, all states."""
        places = [self.nodes.index(node) for node in nodes]
        summed = self.joint_with_evidence.sum(tuple(i for i in range(len(self.nodes)) if i not in places))
        rank = sorted(places)
        summed = summed.transpose([rank.index(place) for place in places])
        full = np.zeros([self.network.card(node) for node in nodes])
        full[np.ix_(*(self.possible[node] for node in nodes))] = summed
        return full

    def joint(self, nodes: Sequence[str]) -> np.ndarray:
        """P(nodes | e), one axis a node in the order given."""
        return self.weight(nodes) / self.probability_of_evidence()

    def posterior(self, node: str) -> np.ndarray:
        return self.joint([node])

    def gain(self, test: Sequence[str], target: Sequence[str]) -> float:
        """I(target; test | e) in bits: the mean of log2 P(x, t) / P(x) P(t). Test and target may overlap."""
        nodes = list(dict.fromkeys((*target, *test)))
        joint = self.joint(nodes)
        both: dict[tuple, float] = {}
        for states in np.ndindex(*joint.shape):
            of = dict(zip(nodes, states, strict=True))
            key = (tuple(of[n] for n in target), tuple(of[n] for n in test))
            both[key] = both.get(key, 0.0) + joint[states]
        return mutual_information(both)


def mutual_information(joint: Mapping[tuple, float]) -> float:
    """I(X; T) in bits from {(x, t): P(x, t)}."""
    target, outcome = _marginal(joint, 0), _marginal(joint, 1)
    return sum(p * log2(p / (target[x] * outcome[t])) for (x, t), p in joint.items() if p > 0)


def entropy(probabilities: Iterable[float]) -> float:
    """H in bits, term by term."""
    return -sum(p * log2(p) for p in probabilities if p > 0)


def _marginal(joint: Mapping[tuple, float], place: int) -> dict:
    found: dict = {}
    for key, p in joint.items():
        found[key[place]] = found.get(key[place], 0.0) + p
    return found


def _likelihood(states: Sequence[str], told: "str | Sequence[float] | np.ndarray | None") -> np.ndarray:
    if told is None:
        return np.ones(len(states))
    if isinstance(told, str):
        return np.array([float(state == told) for state in states])
    return np.asarray(told, dtype=float)
