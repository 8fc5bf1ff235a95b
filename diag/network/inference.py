"""Questions to a network with evidence: P(e), posteriors, joint tables, outcomes of tests, information gain."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import chain, product
from math import prod

import numpy as np
import numpy.typing as npt

from diag.network.factors import Leaves, build, relevant_nodes
from diag.network.gates import Gate
from diag.network.information import expected_information_gain, target_and_test
from diag.network.model import Network
from diag.network.plan import CELL_LIMIT, CliqueTooLarge
from diag.network.propagate import Probe, Propagation

Array = npt.NDArray[np.float64]

OUTCOME_LIMIT = 4096
# Below this P(e) it is looked at whether anything but rounding is left.
SUSPICIOUS = 1e-12


class ImpossibleEvidence(ValueError):
    """The evidence has probability zero under the network."""


class TooManyOutcomes(ValueError):
    """A set of variables has more joint states than can be listed."""


@dataclass(frozen=True)
class _Axis:
    """One variable of an asked joint: what to multiply in for each of its products, and how they mix to states.

    vectors: per product, {variable: vector}. mix: shape (states, products).
    """

    name: str
    vectors: tuple[Mapping[str, Array], ...]
    mix: Array


class Inference:
    """A network under evidence.

    evidence: per node a state's name (hard) or a likelihood over its states, in their order (soft).
    Raises KeyError for an unknown node or state, ValueError for a likelihood of the wrong shape, negative, or
    all zero.
    """

    def __init__(
        self, network: Network, evidence: Mapping[str, str | Sequence[float] | Array], limit: int = CELL_LIMIT
    ) -> None:
        self.network = network
        self.likelihood = {node: _likelihood(network, node, told) for node, told in evidence.items()}
        self.limit = limit

    def probability_of_evidence(self) -> float:
        """P(e); for soft evidence the expected likelihood."""
        return float(self._propagation(()).run(())[0][0])

    def posterior(self, node: str) -> Array:
        """P(node | e), shape (states,)."""
        return self.posteriors((node,))[node]

    def posteriors(self, nodes: Iterable[str]) -> dict[str, Array]:
        """P(node | e) of several nodes by one propagation. Raises ImpossibleEvidence."""
        nodes = tuple(nodes)
        propagation = self._propagation(nodes)
        total, weights = propagation.run([propagation.factors.index[node] for node in nodes])
        self._require_possible(total[0])
        return {node: weight[:, 0] / total[0] for node, weight in zip(nodes, weights, strict=True)}

    def joint(self, nodes: Sequence[str]) -> Array:
        """P(nodes | e), one axis a node in the order given. Raises ImpossibleEvidence, TooManyOutcomes.

        At least one node is wanted.
        """
        first, *others = nodes
        table = self.weigh_with([first], [tuple(others)])[0]
        total = table.sum()
        self._require_possible(total)
        return np.asarray(table / total)

    def gain(self, test: Sequence[str], target: str | Sequence[str]) -> float:
        """Expected information gain of observing all of ``test`` about ``target``, in bits."""
        return self.gains([test], target)[0]

    def gains(self, tests: Sequence[Sequence[str]], target: str | Sequence[str]) -> list[float]:
        """Expected information gain of each test about the target (several nodes: about all of them), in bits."""
        about = (target,) if isinstance(target, str) else tuple(target)
        first, *others = about
        hidden = [(*others, *(node for node in test if node not in about)) for test in tests]
        found = []
        for test, table in zip(tests, self.weigh_with([first], hidden), strict=True):
            total = table.sum()
            self._require_possible(total)
            shown = [about.index(node) for node in test if node in about]
            found.append(expected_information_gain(target_and_test(table / total, len(about), shown)))
        return found

    def weigh_with(
        self, targets: Sequence[str], tests: Sequence[Sequence[str]], rows: Array | None = None
    ) -> list[Array]:
        """P(x, t, e) for the states x of all targets and every joint outcome t of every test.

        rows: shape (R, states of all targets), which sums of target states are wanted; None means each by itself.
        Returns, per test, an array of shape (R, states of each node of the test). A leaf with a gate is never made
        a variable: its states are a signed mix of products over its parents.
        """
        axes, asked = self._axes(tests, targets)
        propagation = self._propagation((*targets, *asked))
        index = propagation.factors.index
        columns: dict[tuple[tuple[str, int], ...], Probe] = {}
        keys = [[_key(axes, test, choice) for choice in _choices(axes, test)] for test in tests]
        for key in chain.from_iterable(keys):
            if key not in columns:
                columns[key] = _probe(axes, key, index)
        weights = np.concatenate(propagation.run([index[t] for t in targets], list(columns.values()))[1])
        weights = weights if rows is None else rows @ weights
        place = {key: column for column, key in enumerate(columns)}
        return [
            _mixed(weights[:, [place[key] for key in test_keys]], [axes[node] for node in test])
            for test, test_keys in zip(tests, keys, strict=True)
        ]

    def run_columns(self, targets: Sequence[str], columns: Sequence[Mapping[str, Array]]) -> tuple[Array, list[Array]]:
        """Weights of the evidence and of each target, one column a set of further likelihoods {node: (states,)}.

        Returns (shape (columns,), [shape (states, columns) a target]).
        """
        asked = dict.fromkeys((*targets, *(node for column in columns for node in column)))
        propagation = self._propagation(tuple(asked))
        index = propagation.factors.index
        probes = [{index[node]: vector for node, vector in column.items()} for column in columns]
        return propagation.run([index[t] for t in targets], probes)

    def run_dense(
        self, targets: Sequence[str], factors: Mapping[str, Array], columns: int
    ) -> tuple[Array, list[Array]]:
        """As ``run_columns``, where all columns have likelihoods on the same nodes, shape (states, columns) each."""
        propagation = self._propagation(tuple(dict.fromkeys((*targets, *factors))))
        index = propagation.factors.index
        return propagation.run_dense(
            [index[t] for t in targets], {index[node]: values for node, values in factors.items()}, columns
        )

    def largest_clique(self, targets: Sequence[str], tests: Sequence[Sequence[str]] = ()) -> int:
        """Cells of the largest clique of what ``weigh_with`` would run. Raises CliqueTooLarge."""
        return self._propagation((*targets, *self._axes(tests, targets)[1])).tree.largest

    def _axes(self, tests: Sequence[Sequence[str]], targets: Sequence[str]) -> tuple[dict[str, _Axis], list[str]]:
        nodes = list(dict.fromkeys(node for test in tests for node in test))
        for test in tests:
            if prod(self.network.card(node) for node in test) > OUTCOME_LIMIT:
                raise TooManyOutcomes(f"{' + '.join(test)} has more than {OUTCOME_LIMIT} joint outcomes")
        leaves = [node for node in nodes if isinstance(self.network[node].local, Gate)]
        others = [node for node in nodes if node not in leaves]
        below = relevant_nodes(
            self.network, self.likelihood, [*targets, *others, *(p for n in leaves for p in self.network[n].parents)]
        )
        axes: dict[str, _Axis] = {}
        asked: list[str] = []
        for node in nodes:
            if node in others or node in below:
                axes[node] = _state_axis(node, self.network.card(node))
                asked.append(node)
            else:
                axes[node] = _gate_axis(self.network, node)
                asked.extend(self.network[node].parents)
        return axes, list(dict.fromkeys(asked))

    def _require_possible(self, total: float) -> None:
        """Raises ImpossibleEvidence where P(e) is zero, or no more than what rounding of signed sums leaves."""
        if not total > 0 or (total < SUSPICIOUS and total <= self._propagation(()).rounding()):
            raise ImpossibleEvidence("the evidence has probability zero")

    def _propagation(self, asked: Sequence[str]) -> Propagation:
        """Without signs in observed gates where that fits, for they can cancel; else with them."""
        positive: tuple[Leaves, ...] = ("chain", "table")
        for leaves in positive:
            with suppress(CliqueTooLarge):
                return Propagation(build(self.network, self.likelihood, asked, leaves), self.limit)
        return Propagation(build(self.network, self.likelihood, asked, "signed"), self.limit)


def _likelihood(network: Network, node: str, told: str | Sequence[float] | Array) -> Array:
    states = network[node].states
    if isinstance(told, str):
        if told not in states:
            raise KeyError(f"node {node!r} has no state {told!r}")
        return np.array([1.0 if state == told else 0.0 for state in states])
    vector = np.asarray(told, dtype=float)
    if vector.shape != (len(states),) or not np.all(vector >= 0) or not vector.any():
        raise ValueError(f"evidence on {node!r} needs {len(states)} likelihoods, none negative, not all zero")
    return vector


def _state_axis(node: str, states: int) -> _Axis:
    return _Axis(node, tuple({node: row} for row in np.eye(states)), np.eye(states))


def _gate_axis(network: Network, node: str) -> _Axis:
    gate = network[node].local
    assert isinstance(gate, Gate)
    vectors = []
    for r in range(gate.mix.shape[1]):
        parts = {p: part[:, r] for p, part in zip(network[node].parents, gate.parts, strict=True)}
        vectors.append({p: part for p, part in parts.items() if np.any(part != 1.0)})
    return _Axis(node, tuple(vectors), gate.mix)


def _choices(axes: Mapping[str, _Axis], test: Sequence[str]) -> Iterable[tuple[int, ...]]:
    return product(*(range(len(axes[node].vectors)) for node in test))


def _key(axes: Mapping[str, _Axis], test: Sequence[str], choice: Sequence[int]) -> tuple[tuple[str, int], ...]:
    """Names a column; products that change nothing are left out, so equal columns are computed once."""
    return tuple(sorted((node, r) for node, r in zip(test, choice, strict=True) if axes[node].vectors[r]))


def _probe(axes: Mapping[str, _Axis], key: Iterable[tuple[str, int]], index: Mapping[str, int]) -> Probe:
    probe: dict[int, Array] = {}
    for node, r in key:
        for variable, vector in axes[node].vectors[r].items():
            number = index[variable]
            probe[number] = probe[number] * vector if number in probe else vector
    return probe


def _mixed(columns: Array, axes: Sequence[_Axis]) -> Array:
    """From products to states, one node after the other; columns: shape (R, products of all nodes)."""
    table = columns.reshape(len(columns), *(len(axis.vectors) for axis in axes))
    for axis in axes:
        table = np.moveaxis(table, 1, -1) @ axis.mix.T
    return np.clip(table, 0.0, None)
