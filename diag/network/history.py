"""Facts about the past hang on the initiating cause, in groups that tell one event once.

For a single fact P(yes | c) = base x factor of c, at most 0.98. In a group the facts that are there multiply
their base rates, and of their factors only the largest above 1 and the smallest below 1 count; what is left of
the probability is "none of them". So an answer "no", an unsure answer, and the gain of asking come out of one
proper distribution.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import product

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import HistoryFact, Knowledge
from diag.network.model import Node, Table
from diag.network.observations import Look

Array = npt.NDArray[np.float64]

HIGHEST = 0.98


def groups(knowledge: Knowledge) -> dict[str, list[HistoryFact]]:
    """The facts of each group, in the order of the base."""
    found: dict[str, list[HistoryFact]] = {}
    for fact in knowledge.history.values():
        found.setdefault(fact.group, []).append(fact)
    return found


def group_table(facts: Sequence[HistoryFact], states: Sequence[str]) -> Array:
    """P(facts | C), shape (states of C, 2, 2, ...), one axis of (no, yes) a fact."""
    factors = np.array([[f.factors[s].value if s in f.factors else 1.0 for s in states] for f in facts])
    base = np.array([fact.base.value for fact in facts])
    table = np.zeros((len(states), 2 ** len(facts)))
    for column, there in enumerate(product((False, True), repeat=len(facts))):
        if any(there):
            told = factors[list(there)]
            weight = np.prod(np.where(there, base, 1.0 - base))
            table[:, column] = weight * np.maximum(told.max(0), 1.0) * np.minimum(told.min(0), 1.0)
    mass = table.sum(1)
    scale = HIGHEST / np.maximum(mass, HIGHEST)
    table *= scale[:, None]
    table[:, 0] = 1.0 - mass * scale
    return table.reshape((len(states),) + (2,) * len(facts))


def likelihoods_by_fact(looks: Iterable[Look], copies: float) -> dict[str, Array]:
    """One likelihood a fact. A later answer about the same event repeats the first with probability ``copies``."""
    found: dict[str, Array] = {}
    for look in looks:
        if look.likelihood is not None:
            told = np.array(look.likelihood)
            known = found.get(look.finding)
            found[look.finding] = told if known is None else known * (copies + (1 - copies) * told)
    return found


def history_likelihoods(knowledge: Knowledge, states: Sequence[str], looks: Iterable[Look]) -> Array:
    """P(all answers about the past | C), shape (states of C,)."""
    told = likelihoods_by_fact(looks, knowledge.model["second_look_copies"].value.value)
    weight = np.ones(len(states))
    for facts in groups(knowledge).values():
        if any(fact.id in told for fact in facts):
            weight *= _answered(group_table(facts, states), facts, told).reshape(len(states), -1).sum(1)
    return weight


def open_facts(knowledge: Knowledge, states: Sequence[str], looks: Iterable[Look]) -> dict[str, Array]:
    """P(fact | C, answers of its group) for every fact without an answer, shape (states of C, 2)."""
    told = likelihoods_by_fact(looks, knowledge.model["second_look_copies"].value.value)
    found = {}
    for facts in groups(knowledge).values():
        table = _answered(group_table(facts, states), facts, told)
        for axis, fact in enumerate(facts, start=1):
            if fact.id not in told:
                own = table.sum(tuple(a for a in range(1, table.ndim) if a != axis))
                total = own.sum(1, keepdims=True)
                found[fact.id] = np.divide(own, total, out=np.zeros_like(own), where=total > 0)
    return found


def _answered(table: Array, facts: Sequence[HistoryFact], told: Mapping[str, Array]) -> Array:
    for axis, fact in enumerate(facts, start=1):
        if fact.id in told:
            shape = [1] * table.ndim
            shape[axis] = 2
            table = table * told[fact.id].reshape(shape)
    return table


def history_tables(knowledge: Knowledge, states: Sequence[str], target: str) -> list[Node]:
    """The history facts as nodes: each hangs on C and on the facts of its group before it."""
    nodes = []
    for facts in groups(knowledge).values():
        table = group_table(facts, states)
        for place, fact in enumerate(facts):
            known = table.sum(tuple(range(place + 2, table.ndim)))
            total = known.sum(-1, keepdims=True)
            rows = np.divide(known, total, out=np.full_like(known, 0.5), where=total > 0)
            parents = (target, *(f.id for f in facts[:place]))
            nodes.append(Node(fact.id, fact.states, parents, Table(rows)))
    return nodes
