"""A fault tree as frozen data: gates over gates and basic events. Nothing here computes a probability."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal, get_args

from diag.text import did_you_mean

GateKind = Literal["or", "and", "k_of_n", "inhibit", "not"]
GATE_KINDS: tuple[str, ...] = get_args(GateKind)


@dataclass(frozen=True, slots=True)
class BasicEvent:
    """What is not taken apart further; events are independent of each other."""

    probability: float
    name: str = ""


@dataclass(frozen=True, slots=True)
class TreeGate:
    """How an event comes about from its inputs.

    ``inhibit`` has two inputs, the second the condition under which the first one passes; it counts as an AND
    (Fault Tree Handbook, NUREG-0492, ch. IV). ``not`` has one input and makes the tree non-coherent.
    """

    kind: GateKind
    inputs: tuple[str, ...]
    k: int = 0
    name: str = ""


class FaultTreeError(ValueError):
    """Gates and events that make no tree; the message names the one and why."""


@dataclass(frozen=True)
class FaultTree:
    """A tree (properly: an acyclic graph, for inputs may be shared). Raises FaultTreeError where it is none."""

    top: str
    gates: Mapping[str, TreeGate]
    events: Mapping[str, BasicEvent]
    title: str = ""
    source: str = ""
    below: tuple[str, ...] = field(init=False)

    def __post_init__(self) -> None:
        for id, message in faults_of(self.top, self.gates, self.events):
            raise FaultTreeError(f"{id!r}: {message}")
        object.__setattr__(self, "below", tuple(_inputs_first(self.top, self.gates)))

    @property
    def coherent(self) -> bool:
        """No NOT anywhere below the top: a further event can only make things worse."""
        return all(self.gates[id].kind != "not" for id in self.below if id in self.gates)

    def name(self, id: str) -> str:
        """What an event or gate is called; its id where it has no name."""
        entry = self.gates.get(id) or self.events[id]
        return entry.name or id

    def chances(self, order: Iterable[str]) -> list[float]:
        """The probabilities of basic events, in the order asked."""
        return [self.events[id].probability for id in order]

    def at(self, top: str) -> FaultTree:
        """The tree of one of its gates or events. Raises FaultTreeError where there is no such one."""
        return FaultTree(top, self.gates, self.events, self.title, self.source)


def faults_of(top: str, gates: Mapping[str, TreeGate], events: Mapping[str, BasicEvent]) -> Iterator[tuple[str, str]]:
    """(id, sentence) of everything that keeps the entries from being a tree."""
    known = {*gates, *events}
    if top not in known:
        yield top, _unknown(top, known)
    for id in gates.keys() & events.keys():
        yield id, "it is both a gate and a basic event."
    for id, event in events.items():
        if not 0 <= event.probability <= 1:
            yield id, f"{event.probability:g} is no probability."
    for id, gate in gates.items():
        yield from ((id, sentence) for sentence in _gate_faults(gate))
        yield from ((id, _unknown(other, known)) for other in gate.inputs if other not in known)
    looped = _in_a_loop(gates)
    if looped is not None:
        yield looped, "it is among its own inputs, by way of other gates or at once."


def _unknown(id: str, known: set[str]) -> str:
    return f"there is no gate or event {id!r}. {did_you_mean(id, known)}".strip()


def _gate_faults(gate: TreeGate) -> Iterator[str]:
    inputs = len(gate.inputs)
    if inputs == 0:
        yield "a gate needs an input."
    if len(set(gate.inputs)) < inputs:
        yield "an input is named twice."
    if gate.kind == "k_of_n" and not 1 <= gate.k <= inputs:
        yield f"k must lie between 1 and the number of inputs, {inputs}."
    if gate.kind == "inhibit" and inputs != 2:
        yield "an inhibit gate has one input and one condition."
    if gate.kind == "not" and inputs != 1:
        yield "a NOT has one input."


def _in_a_loop(gates: Mapping[str, TreeGate]) -> str | None:
    """A gate that no order can put after its inputs, or None (Kahn 1962)."""
    waits = {id: sum(other in gates for other in set(gate.inputs)) for id, gate in gates.items()}
    feeds: dict[str, list[str]] = {}
    for id, gate in gates.items():
        for other in set(gate.inputs):
            feeds.setdefault(other, []).append(id)
    ready = [id for id, number in waits.items() if number == 0]
    done = 0
    while ready:
        done += 1
        for id in feeds.get(ready.pop(), ()):
            waits[id] -= 1
            if waits[id] == 0:
                ready.append(id)
    return None if done == len(gates) else next(id for id, number in waits.items() if number > 0)


def _inputs_first(top: str, gates: Mapping[str, TreeGate]) -> list[str]:
    """The top and all below it, each after its inputs; depth first, as the inputs are written."""
    ordered: dict[str, None] = {}
    stack = [(top, False)]
    while stack:
        id, opened = stack.pop()
        if opened:
            ordered[id] = None
        elif id not in ordered:
            stack.append((id, True))
            inputs = gates[id].inputs if id in gates else ()
            stack.extend((other, False) for other in reversed(inputs) if other not in ordered)
    return list(ordered)
