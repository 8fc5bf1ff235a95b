"""Links from a parent to its children: one number, or numbers by state, always stored by both states."""

from __future__ import annotations

from collections.abc import Mapping

from diag.knowledge.number import read_number
from diag.knowledge.types import Link, Number
from diag.text import MapNode, Node, Problem, TextNode, did_you_mean

Strengths = dict[str, Mapping[str, Number]]


def read_link(
    key: TextNode, node: Node, parent: tuple[str, ...], child: tuple[str, ...], problems: list[Problem]
) -> Link:
    """The link to the child named by ``key``; ``parent`` and ``child`` are the states of the two ends.

    A single number does where both have two states. Else a map names the states of the end that has
    more, or of both: parent state first, then child state.
    """
    if isinstance(node, MapNode):
        return Link(key.value, _by_state(node, parent, child, problems), key.mark)
    if len(parent) > 2 or len(child) > 2:
        problems.append(_states_wanted(node, parent, child))
    return Link(key.value, {parent[-1]: {child[-1]: read_number(node, problems)}}, key.mark)


def read_by_state(node: Node, states: tuple[str, ...], problems: list[Problem]) -> dict[str, Number]:
    """Numbers by state; a single number is for the last of two states. The first takes the rest."""
    if isinstance(node, MapNode):
        _check_states(node, states, problems)
        return {key.value: read_number(value, problems) for key, value in node.items}
    if len(states) > 2:
        problems.append(_states_wanted(node, states, ()))
    return {states[-1]: read_number(node, problems)}


def _by_state(node: MapNode, parent: tuple[str, ...], child: tuple[str, ...], problems: list[Problem]) -> Strengths:
    if any(isinstance(value, MapNode) for _, value in node.items):
        _check_states(node, parent, problems)
        return {key.value: read_by_state(value, child, problems) for key, value in node.items}
    if len(parent) == 2:
        return {parent[1]: read_by_state(node, child, problems)}
    if len(child) > 2:
        problems.append(_states_wanted(node, parent, child))
    _check_states(node, parent, problems)
    return {key.value: {child[-1]: read_number(value, problems)} for key, value in node.items}


def _check_states(node: MapNode, states: tuple[str, ...], problems: list[Problem]) -> None:
    for key, _ in node.items:
        if key.value not in states:
            hint = did_you_mean(key.value, states) or f"The states are {', '.join(states)}."
            problems.append(Problem(key.mark, "unknown-state", f"there is no state {key.value!r}.", hint))
        elif key.value == states[0]:
            message = f"{key.value!r} is the ordinary state: it takes what the others leave."
            problems.append(Problem(key.mark, "ordinary-state", message, "Leave it out."))


def _states_wanted(node: Node, parent: tuple[str, ...], child: tuple[str, ...]) -> Problem:
    ends = [("parent", parent), ("child", child)] if child else [("entry", parent)]
    named = " and ".join(f"the {end} has {', '.join(states)}" for end, states in ends if len(states) > 2)
    hint = "Name the states: {STATE: NUMBER}, or {PARENT STATE: {CHILD STATE: NUMBER}} where both have more."
    return Problem(node.mark, "states-wanted", f"one number is not enough: {named}.", hint)
