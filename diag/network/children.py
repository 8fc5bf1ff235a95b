"""Effects and findings of a knowledge base as nodes: who brings them about, and by which gate."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import Cause, Effect, Knowledge, Link, Number
from diag.network.gates import Gate, k_of_n, noisy_and, noisy_max, stopped, stopped_table
from diag.network.model import Node, Table

Array = npt.NDArray[np.float64]

UNLISTED = "unlisted_"
YES_NO = ("no", "yes")


@dataclass(frozen=True)
class Parent:
    """One arc into an effect or a finding: who, with which states, and with which strengths."""

    id: str
    states: tuple[str, ...]
    strengths: Mapping[str, Mapping[str, Number]]


@dataclass(frozen=True, eq=False)
class Children:
    """Effects and findings with those parents that apply to a vehicle; ``causes`` are the causes that do."""

    knowledge: Knowledge
    causes: Container[str]
    _findings: dict[tuple[str, bool], Node] = field(default_factory=dict, repr=False)

    @cached_property
    def parents(self) -> Mapping[str, list[Parent]]:
        """Parents by child, in the order of the base: causes, then effects."""
        effects = self.knowledge.effects
        return {
            child: [parent for parent in parents if parent.id in self.causes or parent.id in effects]
            for child, parents in parents_of(self.knowledge).items()
        }

    @cached_property
    def shown_running(self) -> frozenset[str]:
        """Findings that some mechanism shows: whoever sees them has run the engine."""
        effects = self.knowledge.effects
        return frozenset(
            finding
            for finding in self.knowledge.findings
            if any(p.id in effects and effects[p.id].kind == "mechanism" for p in self.parents.get(finding, ()))
        )

    def effect(self, id: str) -> Node:
        """An effect as the first stage has it."""
        return _effect_node(self.knowledge.effects[id], self.parents.get(id, []), self.knowledge)

    def new_damage(self, id: str) -> Node:
        """What is newly done of a damage in a stage: as the effect, with nothing from elsewhere."""
        entry = replace(self.knowledge.effects[id], leak={})
        return _effect_node(entry, self.parents.get(id, []), self.knowledge)

    def is_noisy_max(self, id: str) -> bool:
        """Whether the effect is the highest of what its parents bring about each by itself, and nothing stops it."""
        entry = self.knowledge.effects[id]
        return entry.gate == "or" and not entry.inhibited_by

    def finding(self, id: str, complaint: bool) -> Node:
        """A finding; what the vehicle came in for is seldom a false alarm."""
        node = self._findings.get((id, complaint))
        if node is None:
            node = self._findings[id, complaint] = self._finding(id, complaint)
        return node

    def _finding(self, id: str, complaint: bool) -> Node:
        entry, parents = self.knowledge.findings[id], self.parents.get(id, [])
        factor = self.knowledge.model["complaint_false_alarm"].value.value if complaint else 1.0
        gate = noisy_max([_strength(p, entry.states) for p in parents], _leak(entry.states, entry.false_alarm, factor))
        return Node(id, entry.states, tuple(p.id for p in parents), gate)


def parents_of(knowledge: Knowledge) -> dict[str, list[Parent]]:
    """Every effect's and finding's parents, in the order of the base: causes, then effects."""
    found: dict[str, list[Parent]] = {}
    entries: list[Cause | Effect] = [*knowledge.causes.values(), *knowledge.effects.values()]
    for entry in entries:
        links: tuple[Link, ...] = (*entry.leads_to, *entry.shows)
        for link in links:
            found.setdefault(link.child, []).append(Parent(entry.id, entry.states, link.strengths))
    for effect in knowledge.effects.values():
        if effect.residual is not None:
            strength = {"yes": {effect.states[1]: knowledge.model["strength_of_unlisted"].value}}
            found.setdefault(effect.id, []).append(Parent(UNLISTED + effect.id, YES_NO, strength))
    return found


def highest(states: tuple[str, ...], kept: Sequence[Array]) -> Gate:
    """The highest of what several parents of the same states pass on.

    kept: one array a parent, shape (states, states); row p is what is left of it where the parent is in state p.
    """
    return noisy_max(kept, np.eye(len(states))[0])


def _effect_node(effect: Effect, parents: list[Parent], knowledge: Knowledge) -> Node:
    stoppers = [Parent(s, knowledge.effects[s].states, {}) for s in effect.inhibited_by]
    lets = [_lets_pass(stopper, effect.inhibited_by[stopper.id].value) for stopper in stoppers]
    names = tuple(parent.id for parent in (*parents, *stoppers))
    leak = _leak(effect.states, effect.leak)
    if effect.gate == "k_of_n":
        table = k_of_n(effect.k, [_acts(p) for p in parents], float(leak[1:].sum()))
        return Node(effect.id, effect.states, names, Table(stopped_table(table, lets)))
    if effect.gate == "and":
        gate = noisy_and([_acts(p) for p in parents], float(leak[1:].sum()))
    else:
        gate = noisy_max([_strength(p, effect.states) for p in parents], leak)
    return Node(effect.id, effect.states, names, stopped(gate, lets))


def _strength(parent: Parent, states: tuple[str, ...]) -> Array:
    """Shape (parent states, child states): the child's distribution while only this parent acts."""
    rows = np.zeros((len(parent.states), len(states)))
    for i, parent_state in enumerate(parent.states):
        for state, number in parent.strengths.get(parent_state, {}).items():
            rows[i, states.index(state)] = number.value
    rows[:, 0] = np.maximum(1.0 - rows[:, 1:].sum(1), 0.0)
    return rows


def _acts(parent: Parent) -> Array:
    """Shape (parent states,): the probability that this parent plays its part in an AND or k-of-n gate."""
    return np.array([sum(n.value for n in parent.strengths.get(s, {}).values()) for s in parent.states])


def _lets_pass(stopper: Parent, strength: float) -> Array:
    return np.array([1.0] + [1.0 - strength] * (len(stopper.states) - 1))


def _leak(states: tuple[str, ...], numbers: Mapping[str, Number], factor: float = 1.0) -> Array:
    leak = np.array([numbers[s].value * factor if s in numbers else 0.0 for s in states])
    leak[0] = 1.0 - leak[1:].sum()
    return leak
