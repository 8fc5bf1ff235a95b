"""A population of machines drawn from a case network, as a fast belief: faults and effects are drawn, findings are not.

Each machine has an initiating cause, its faults and its effects; what it would show stays a probability. So a finding
seen only changes the weights of the machines. Posteriors are those of the sample, not exact: for simulating, where a
belief is asked for many times, never for answers about a case.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diag.network.case_network import NOTHING_WRONG, CaseNetwork
from diag.network.gates import Gate
from diag.network.model import Network, Node

Array = npt.NDArray[np.float64]
Drawn = npt.NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Population:
    """Machines sorted by their initiating cause.

    states: of the initiating cause; cause: shape (machines,), its number; weight: shape (machines,), adds up to 1;
    chances: by finding, shape (machines, states), P(finding | machine); effects: by effect, shape (machines,), its
    state.
    """

    states: tuple[str, ...]
    cause: Drawn
    weight: Array
    chances: Mapping[str, Array]
    effects: Mapping[str, Drawn]


def draw_population(case: CaseNetwork, each: int, random: np.random.Generator) -> Population:
    """``each`` machines of every initiating cause, weighted so that the causes keep their prior."""
    count = len(case.states)
    cause = np.repeat(np.arange(count), each)
    drawn: dict[str, Drawn] = {}
    for place, fault in enumerate(case.causes):
        drawn[fault] = ((cause == place) | (random.random(len(cause)) < case.coexistence[place])).astype(np.intp)
    assert case.states[-1] == NOTHING_WRONG
    chances: dict[str, Array] = {}
    for node in case.faults.values():
        if node.id in case.knowledge.effects:
            drawn[node.id] = _draw(_given(case.faults, node, drawn), random)
        elif node.id in case.knowledge.findings:
            chances[node.id] = _given(case.faults, node, drawn)
    effects = {effect: drawn[effect] for effect in case.knowledge.effects}
    return Population(case.states, cause, np.repeat(case.prior / each, each), chances, effects)


def _given(network: Network, node: Node, drawn: Mapping[str, Drawn]) -> Array:
    """P(node | its parents as drawn), shape (machines, states)."""
    parents = [drawn[parent] for parent in node.parents]
    machines = len(next(iter(drawn.values())))
    if isinstance(node.local, Gate):
        products = np.ones((machines, node.local.mix.shape[1]))
        for part, states in zip(node.local.parts, parents, strict=True):
            products *= part[states]
        table = products @ node.local.mix.T
    else:
        table = np.broadcast_to(node.local.values[tuple(parents)], (machines, network.card(node.id)))
    table = np.clip(table, 0.0, None)
    return np.asarray(table / table.sum(1, keepdims=True))


def _draw(chances: Array, random: np.random.Generator) -> Drawn:
    """A state for each row."""
    return np.asarray((random.random((len(chances), 1)) > np.cumsum(chances, 1)[:, :-1]).sum(1), dtype=np.intp)
