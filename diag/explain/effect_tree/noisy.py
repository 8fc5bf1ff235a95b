"""An effect as a fault tree with every link written out: a noisy gate is a plain one over "the link fires" events.

A link of a noisy-OR is an AND of the parent and an event of its own with the link's strength; a leak is a basic event.
Where parent or child have degrees, "at least this degree" is the event, and one throw decides how far a link goes:
the events of its steps are nested, each with the probability of going on from the one before. An inhibition is an
AND with NOT (the other effect, and the stopping fires).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from diag.explain.fault_tree import BasicEvent, FaultTree, TreeGate
from diag.explain.fault_tree.tree import GateKind
from diag.knowledge.types import Effect, Number
from diag.network.case_network import CaseNetwork
from diag.network.children import Parent, parents_of

ALWAYS, NEVER = "(always)", "(never)"
LEAK = ""  # the parent of what comes about with no parent


def link_id(parent: str, child: str) -> str:
    """The id of what passes from parent to child."""
    return f"{parent}>{child}"


def noisy_tree(case: CaseNetwork, effect: str, degree: int = 1) -> FaultTree:
    """The tree of "at least this degree of the effect"; faults have their coexistence probability.

    What brought the vehicle in is one of the causes, c, or nothing: P(effect) = sum over c of P(C = c) x P(top | c).
    """
    writer = _Writer(case)
    top = writer.effect(effect, degree)
    return FaultTree(top, writer.gates, writer.events, case.knowledge.effects[effect].name)


def without_noise(tree: FaultTree, causes: Iterable[str]) -> dict[str, bool]:
    """What to fix so that the causes alone are left: every link fires, no leak does, nothing is stopped."""
    kept = frozenset(causes)
    events = {id: not id.startswith(link_id(LEAK, "")) and id != NEVER for id in tree.events if id not in kept}
    return {**events, **{id: True for id, gate in tree.gates.items() if gate.kind == "not"}}


def beyond(strengths: Mapping[str, Number], states: tuple[str, ...], degree: int) -> float:
    """P(at least this degree) of a distribution over the states beyond the first."""
    return sum(strengths[state].value for state in states[degree:] if state in strengths)


@dataclass
class _Writer:
    """Gates and events of a tree while they are written."""

    case: CaseNetwork
    gates: dict[str, TreeGate] = field(default_factory=dict)
    events: dict[str, BasicEvent] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._parents = parents_of(self.case.knowledge)
        self._chances = dict(zip(self.case.causes, self.case.coexistence.tolist(), strict=True))

    def node(self, id: str, degree: int) -> str | None:
        """At least this degree of a cause or effect; None for a cause that this vehicle cannot have."""
        if id in self.case.knowledge.effects:
            return self.effect(id, degree)
        return self.event(id, self._chances[id]) if id in self._chances else None

    def effect(self, id: str, degree: int) -> str:
        effect = self.case.knowledge.effects[id]
        name = id if degree == 1 else f"{id}#{degree}"
        if name in self.gates:
            return name
        leak = self._steps(link_id(LEAK, id), [beyond(effect.leak, effect.states, d) for d in _degrees(effect)])
        leaks = [self.gate("and", leak[degree])] if leak[degree] is not None else []
        comes = self.gate("or", [*leaks, *self._brought_about(effect, degree)])
        stops = [self._stopped(effect, other, number) for other, number in effect.inhibited_by.items()]
        self.gates[name] = TreeGate("and", (comes, *stops))
        return name

    def gate(self, kind: GateKind, inputs: list[str] | None, k: int = 0) -> str:
        """A gate over these inputs, with a name made of them; none is needed over a single input."""
        given = tuple(dict.fromkeys(inputs or ()))
        if kind == "k_of_n" and k > len(given):
            return self.event(NEVER, 0.0)
        if not given:
            return self.event(ALWAYS, 1.0) if kind == "and" else self.event(NEVER, 0.0)
        if len(given) == 1 and kind != "not":
            return given[0]
        id = f"{k or ''}{kind}({', '.join(given)})"
        self.gates[id] = TreeGate(kind, given, k)
        return id

    def event(self, id: str, chance: float) -> str:
        self.events[id] = BasicEvent(chance)
        return id

    def _brought_about(self, effect: Effect, degree: int) -> list[str]:
        links = [self._link(parent, effect, degree) for parent in self._parents.get(effect.id, ())]
        ways = [self.gate("or", link) for link in links if link is not None]
        if effect.gate == "and":
            return [self.gate("and", ways)]
        if effect.gate == "k_of_n":
            return [self.gate("k_of_n", ways, effect.k)]
        return ways

    def _link(self, parent: Parent, effect: Effect, degree: int) -> list[str] | None:
        """The ways in which one parent brings the effect to this degree, one per state of the parent."""
        if self.node(parent.id, 1) is None:
            return None
        degrees = range(1, len(parent.states))
        reach = {
            (state, d): beyond(parent.strengths.get(parent.states[state], {}), effect.states, d)
            for state in degrees
            for d in _degrees(effect)
        }
        steps = dict(zip(reach, self._steps(link_id(parent.id, effect.id), list(reach.values()))[1:], strict=True))
        grows = all(reach[s, d] <= reach[s + 1, d] for s in degrees[:-1] for d in _degrees(effect))
        ways = []
        for state in degrees:
            throws = steps[state, degree]
            if throws is not None:
                ways.append(self.gate("and", [*self._in_state(parent, state, grows), *throws]))
        return ways

    def _in_state(self, parent: Parent, state: int, grows: bool) -> list[str]:
        """At least in this state; exactly in it where a worse one does not do at least as much."""
        here = self.node(parent.id, state)
        assert here is not None
        if grows or state == len(parent.states) - 1:
            return [here]
        worse = self.node(parent.id, state + 1)
        assert worse is not None
        return [here, self.gate("not", [worse])]

    def _steps(self, id: str, chances: list[float]) -> list[list[str] | None]:
        """Nested events, one set a chance, from place 1 on: all of the set come together with that chance.

        None where the chance is 0; no event at all where it is 1.
        """
        found: dict[float, list[str] | None] = {0.0: None}
        so_far: list[str] = []
        last = 1.0
        for place, chance in enumerate(sorted({c for c in chances if c > 0}, reverse=True), start=1):
            if chance < last:
                so_far = [*so_far, self.event(id if place == 1 else f"{id}#{place}", chance / last)]
                last = chance
            found[chance] = so_far
        return [None, *(found[chance] for chance in chances)]

    def _stopped(self, effect: Effect, other: str, number: Number) -> str:
        fires = self.event(link_id(other, f"stops {effect.id}"), number.value)
        return self.gate("not", [self.gate("and", [self.effect(other, 1), fires])])


def _degrees(effect: Effect) -> range:
    return range(1, len(effect.states))
