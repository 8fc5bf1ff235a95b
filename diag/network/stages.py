"""The stages of a case, unrolled: what a repair changes, what stays the same variable, what is new.

A fault that a repair neither ends nor may bring in is the same variable before and after. A repaired one is there
still where the repair failed; damage is carried on and can grow once the engine has run again; mechanisms and what
they show are new in each stage. Before the engine has run in a stage (nothing was recorded that a mechanism shows)
nothing has grown: the damage that stands is what was left.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diag.network.children import YES_NO, Children, highest
from diag.network.gates import Gate, with_parent
from diag.network.model import Node, Table
from diag.network.observations import Look, Mended, Observations

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Stage:
    """Which node stands for what in one stage.

    faults: by cause. standing: by damage, as it stands when the stage begins. effects: by effect, with the engine
    run; empty where nobody needs them. findings: by finding; of an earlier stage only those seen in it.
    """

    number: int
    faults: Mapping[str, str]
    standing: Mapping[str, str]
    effects: Mapping[str, str]
    findings: Mapping[str, str]
    ran: bool

    @property
    def left(self) -> Mapping[str, str]:
        """Damage as it is at the end of the stage, or now."""
        return {id: self.effects[id] for id in self.standing} if self.ran else self.standing


def first_stage(children: Children, causes: Iterable[str], observations: Observations) -> tuple[Stage, list[Node]]:
    """The first stage, whose nodes go by the ids themselves; the engine ran, or there would be no complaint."""
    knowledge = children.knowledge
    complaints = _complaints(observations.looks, 1)
    nodes = [children.effect(id) for id in knowledge.effects]
    nodes += [children.finding(id, id in complaints) for id in knowledge.findings]
    damage = {id: id for id, entry in knowledge.effects.items() if entry.kind == "damage"}
    same = {id: id for id in knowledge.effects}
    stage = Stage(1, {c: c for c in causes}, damage, same, {id: id for id in knowledge.findings}, True)
    return stage, nodes


def unroll(
    children: Children, first: Stage, nodes: Iterable[Node], observations: Observations
) -> tuple[tuple[Stage, ...], list[Node]]:
    """All stages, beginning with ``first``, whose nodes are given, and the nodes that the others add."""
    made = _Made(children, {node.id: node for node in nodes})
    stages = [first]
    for mended in observations.mended:
        looks = [look for look in observations.looks if look.stage == mended.stage]
        stages.append(made.stage(stages[-1], mended, looks, mended.stage == observations.stage))
    return tuple(stages), made.nodes


@dataclass(frozen=True)
class Segment:
    """One stage by itself, begun from marginals: its nodes, and the roots that stand for what was there before.

    roots: node by fault and damage, each with a flat table; stage: which node stands for what.
    """

    nodes: tuple[Node, ...]
    roots: Mapping[str, str]
    stage: Stage


def segment(children: Children, before: Stage, observations: Observations, number: int) -> Segment:
    """Stage ``number`` after ``before``, whose faults and damage become roots of their own."""
    damage = {id: children.knowledge.effects[id].states for id in before.left}
    roots = {**{cause: cause for cause in before.faults}, **{id: f"{id}~before" for id in damage}}
    nodes = [_flat(roots[cause], YES_NO) for cause in before.faults]
    nodes += [_flat(roots[id], states) for id, states in damage.items()]
    shown = [children.effect(id) for id in children.knowledge.effects]
    shown += [children.finding(id, False) for id in children.knowledge.findings]
    made = _Made(children, {node.id: node for node in shown})
    made.shown = {}
    begun = Stage(before.number, {c: c for c in before.faults}, {id: roots[id] for id in damage}, {}, {}, False)
    looks = [look for look in observations.looks if look.stage == number]
    stage = made.stage(begun, observations.mended[number - 2], looks, number == observations.stage)
    return Segment((*nodes, *made.nodes), roots, stage)


def _flat(name: str, states: tuple[str, ...]) -> Node:
    return Node(name, states, (), Table(np.full(len(states), 1.0 / len(states))))


class _Made:
    """The nodes of later stages as they are made. first: those of the first stage."""

    def __init__(self, children: Children, first: Mapping[str, Node]) -> None:
        self.children = children
        self.knowledge = children.knowledge
        self.first = first
        self.nodes: list[Node] = []
        self.shown: dict[str, tuple[str, tuple[str, ...]]] = {
            id: (id, first[id].parents) for id in self.knowledge.findings
        }

    def stage(self, before: Stage, mended: Mended, looks: list[Look], last: bool) -> Stage:
        """The stage that a repair began."""
        faults = {cause: self._fault(cause, node, mended) for cause, node in before.faults.items()}
        standing = {damage: self._standing(damage, node, mended) for damage, node in before.left.items()}
        ran = any(look.finding in self.children.shown_running for look in looks)
        effects = self.run(mended.stage, faults, standing) if ran or last else {}
        seen = sorted(self.knowledge.findings) if last else sorted({look.finding for look in looks})
        complaints = _complaints(looks, mended.stage)
        stage = Stage(mended.stage, faults, standing, effects, {}, ran)
        findings = {id: self._finding(id, stage, id in complaints) for id in seen}
        return Stage(mended.stage, faults, standing, effects, findings, ran)

    def run(self, number: int, faults: Mapping[str, str], standing: Mapping[str, str]) -> Mapping[str, str]:
        """Effects with the engine run, from what faults and damage there are; which node stands for which."""
        effects = {id: f"{id}@{number}" for id in self.knowledge.effects}
        names = {**faults, **effects}
        for id, name in effects.items():
            if id in standing:
                self._grown(id, name, names, standing[id])
            else:
                node = self.first[id]
                self._add(Node(name, node.states, tuple(names[p] for p in node.parents), node.local))
        return effects

    def _fault(self, cause: str, node: str, mended: Mended) -> str:
        """The same node, unless the repair ends the fault or may bring it in."""
        stays = 1.0 - mended.success.get(cause, 0.0)
        absent = 1.0 - mended.brings_in.get(cause, 0.0)
        if stays == 1.0 and absent == 1.0:
            return node
        there = 1.0 - (1.0 - stays) * absent
        table = Table(np.array([[absent, 1.0 - absent], [1.0 - there, there]]))
        return self._add(Node(f"{cause}@{mended.stage}", YES_NO, (node,), table))

    def _standing(self, damage: str, node: str, mended: Mended) -> str:
        success = mended.success.get(damage, 0.0)
        if success == 0.0:
            return node
        states = self.knowledge.effects[damage].states
        rows = (1.0 - success) * np.eye(len(states))
        rows[:, 0] += success
        return self._add(Node(f"{damage}@{mended.stage}~left", states, (node,), Table(rows)))

    def _grown(self, id: str, name: str, names: Mapping[str, str], standing: str) -> None:
        """What stood and what is newly done; the worse of the two."""
        new = self.children.new_damage(id)
        parents, same = tuple(names[p] for p in new.parents), np.eye(len(new.states))
        if self.children.is_noisy_max(id):
            assert isinstance(new.local, Gate)
            self._add(Node(name, new.states, (*parents, standing), with_parent(new.local, same)))
            return
        done = self._add(Node(f"{name}~new", new.states, parents, new.local))
        self._add(Node(name, new.states, (standing, done), highest(new.states, [same, same])))

    def _finding(self, id: str, stage: Stage, complaint: bool) -> str:
        """The node of an earlier stage where nothing that shows it has changed, else a new one."""
        running = stage.ran or id in self.children.shown_running
        names = {**stage.faults, **(stage.effects if running else stage.standing)}
        parents = tuple(names[p] for p in self.first[id].parents)
        node, shown_by = self.shown.get(id, ("", ()))
        if node and parents == shown_by:
            return node
        local = self.children.finding(id, complaint).local
        self.shown[id] = (f"{id}@{stage.number}", parents)
        return self._add(Node(f"{id}@{stage.number}", self.first[id].states, parents, local))

    def _add(self, node: Node) -> str:
        self.nodes.append(node)
        return node.id


def _complaints(looks: Iterable[Look], stage: int) -> frozenset[str]:
    return frozenset(look.finding for look in looks if look.complaint and look.stage == stage)
