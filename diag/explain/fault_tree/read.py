"""Fault trees as text. A file of ours:

    fault_tree: Pressure tank            # the title
    source: where it was published       # optional
    top: rupture
    gates:
      rupture: {or: [tank, overfilled]}
      overfilled: {and: [switch, relays]}
      relays: {k_of_n: [k1, k2, k3], k: 2, name: two of three relays stick}
      spark: {inhibit: arc, condition: gas_there}
    events:
      tank: 5e-6
      switch: {probability: 1e-4, name: pressure switch stays closed}

A gate names its kind once (or, and, k_of_n, inhibit) with its inputs; an input is a gate or an event and may be
shared. Events are independent of each other.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TypeVar, cast

from diag.explain.fault_tree.tree import BasicEvent, FaultTree, GateKind, TreeGate, faults_of
from diag.text import ListNode, MapNode, Mark, Node, Problem, TextNode, did_you_mean, kind_of, read

FIELDS = ("fault_tree", "source", "top", "gates", "events")
KINDS = ("or", "and", "k_of_n", "inhibit")
_GATES = "Write {or: [a, b]}, {and: [a, b]}, {k_of_n: [a, b, c], k: 2} or {inhibit: a, condition: b}."
_EVENTS = "Write 1e-4, or {probability: 1e-4, name: what it is}."

T = TypeVar("T")


class _Wrong(Exception):
    """A part that is not as it should be; ends the reading of that part."""

    def __init__(self, mark: Mark, message: str, hint: str) -> None:
        self.problem = Problem(mark, "wrong-tree", message, hint)


def read_tree(path: Path) -> tuple[FaultTree | None, list[Problem]]:
    """The tree in a file, or None and all that is wrong with it."""
    root, problems = read(path)
    if problems:
        return None, problems
    try:
        fields = _fields(root, Mark(path.as_posix(), 1, 1), FIELDS, f"The fields are {', '.join(FIELDS)}.")
        top = _text(fields.get("top"), "top", cast(MapNode, root).mark)
    except _Wrong as wrong:
        return None, [wrong.problem]
    marks = {top.value: top.mark}
    gates = _entries(fields.get("gates"), _gate, marks, problems)
    events = _entries(fields.get("events"), _event, marks, problems)
    if not problems:
        faults = faults_of(top.value, gates, events)
        problems = [Problem(marks[id], "wrong-tree", f"{id!r}: {message}") for id, message in faults]
    if problems:
        return None, sorted(problems)
    return FaultTree(top.value, gates, events, *(_said(fields.get(name)) for name in ("fault_tree", "source"))), []


def _fields(node: Node | None, mark: Mark, known: tuple[str, ...], hint: str) -> dict[str, Node]:
    """The fields of a map, all of them known."""
    if not isinstance(node, MapNode):
        raise _Wrong(node.mark if node else mark, f"a map of fields is expected here, not {kind_of(node)}.", hint)
    for key in node.keys():  # noqa: SIM118 - a node of the file is no dict
        if key.value not in known:
            raise _Wrong(key.mark, f"there is no field {key.value!r}.", did_you_mean(key.value, known) or hint)
    return {key.value: value for key, value in node.items}


def _text(node: Node | None, name: str, mark: Mark) -> TextNode:
    if not isinstance(node, TextNode) or not node.value:
        raise _Wrong(node.mark if node else mark, f"the field {name!r} is one id.", f"Write {name}: ID.")
    return node


def _said(node: Node | None) -> str:
    return node.value if isinstance(node, TextNode) else ""


def _entries(
    node: Node | None, read_one: Callable[[Node], T], marks: dict[str, Mark], problems: list[Problem]
) -> dict[str, T]:
    """All gates or all events by id; places and problems are collected."""
    found: dict[str, T] = {}
    if node is not None and not isinstance(node, MapNode):
        hint = "Write ID: ... in each line."
        problems.append(Problem(node.mark, "wrong-tree", "a map of ids is expected here.", hint))
    for key, value in node.items if isinstance(node, MapNode) else ():
        marks[key.value] = key.mark
        try:
            found[key.value] = read_one(value)
        except _Wrong as wrong:
            problems.append(wrong.problem)
    return found


def _gate(node: Node) -> TreeGate:
    fields = _fields(node, node.mark, (*KINDS, "k", "condition", "name"), _GATES)
    kinds = [kind for kind in KINDS if kind in fields]
    if len(kinds) != 1:
        raise _Wrong(node.mark, "a gate has one kind.", _GATES)
    kind = kinds[0]
    if ("k" in fields) != (kind == "k_of_n") or ("condition" in fields) != (kind == "inhibit"):
        raise _Wrong(node.mark, "'k' belongs to k_of_n, 'condition' to inhibit, and neither to another kind.", _GATES)
    if kind == "inhibit":
        inputs = tuple(_text(fields[name], name, node.mark).value for name in ("inhibit", "condition"))
    else:
        inputs = tuple(_ids(fields[kind]))
    k = _count(fields["k"]) if "k" in fields else 0
    return TreeGate(cast(GateKind, kind), inputs, k, _said(fields.get("name")))


def _ids(node: Node) -> list[str]:
    if not isinstance(node, ListNode):
        raise _Wrong(node.mark, "a list of ids is expected here.", _GATES)
    return [_text(item, "input", node.mark).value for item in node.items]


def _count(node: Node) -> int:
    if not (isinstance(node, TextNode) and node.value.isascii() and node.value.isdigit()):
        raise _Wrong(node.mark, "'k' is a whole number.", _GATES)
    return int(node.value)


def _event(node: Node) -> BasicEvent:
    if isinstance(node, TextNode):
        return BasicEvent(_chance(node))
    fields = _fields(node, node.mark, ("probability", "name"), _EVENTS)
    if "probability" not in fields:
        raise _Wrong(node.mark, "an event needs a probability.", _EVENTS)
    return BasicEvent(_chance(fields["probability"]), _said(fields.get("name")))


def _chance(node: Node) -> float:
    with suppress(ValueError):
        if isinstance(node, TextNode) and "_" not in node.value and 0 <= float(node.value) <= 1:
            return float(node.value)
    raise _Wrong(node.mark, "a probability is a number from 0 to 1.", _EVENTS)
