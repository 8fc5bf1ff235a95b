"""What must hold for numbers that belong together, and for gates and answers to be possible."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from diag.knowledge.types import Effect, Knowledge, Number
from diag.knowledge.walk import links
from diag.text import Mark, Problem

# Sums of decimal fractions: 0.1 + 0.2 + 0.7 is a little above 1.
ROUNDING = 1e-9


def strengths(knowledge: Knowledge) -> list[Problem]:
    """The states that one thing brings about add up to at most 1."""
    hint = "At most 1 can be shared out; the ordinary state takes what is left."
    return [
        Problem(mark, "strengths-above-one", f"{what}: the states add up to {total:.4g}.", hint)
        for what, group in _groups(knowledge)
        for mark, total in _too_much(group)
    ]


def false_alarms(knowledge: Knowledge) -> list[Problem]:
    """Every answer can come with nothing behind it: else one odd answer makes a whole case impossible."""
    hint = "Give every state but the first a false alarm above 0, together below 1."
    return [
        Problem(finding.mark, "impossible-answer", f"{finding.id}: {_named(impossible)} can never come.", hint)
        for finding in knowledge.findings.values()
        if (impossible := _impossible(finding.states, finding.false_alarm))
    ]


def gates(knowledge: Knowledge) -> list[Problem]:
    """A gate that counts its parents has two states and enough parents."""
    count = _parents(knowledge)
    return [
        problem
        for effect in knowledge.effects.values()
        if effect.gate != "or"
        for problem in _gate(effect, count.get(effect.id, 0))
    ]


def _gate(effect: Effect, parents: int) -> Iterator[Problem]:
    if len(effect.states) > 2:
        message = f"{effect.id}: the gate {effect.gate!r} works on two states."
        yield Problem(effect.mark, "wrong-gate", message, "Use the gate 'or', or two states.")
    if effect.gate == "k_of_n" and not 1 <= effect.k <= parents:
        message = f"{effect.id}: k is {effect.k}, but {parents} parents lead here."
        yield Problem(effect.mark, "wrong-gate", message, "Write k: 2 for two out of all.")


def _groups(knowledge: Knowledge) -> Iterator[tuple[str, Mapping[str, Number]]]:
    for parent, link in links(knowledge):
        yield from ((f"{parent.id} to {link.child}", group) for group in link.strengths.values())
    for effect in knowledge.effects.values():
        yield f"leak of {effect.id}", effect.leak
    for finding in knowledge.findings.values():
        yield f"false alarm of {finding.id}", finding.false_alarm


def _too_much(group: Mapping[str, Number]) -> Iterator[tuple[Mark, float]]:
    values = [number.value for number in group.values()]
    # One value above 1 is told by the bounds already.
    if max(values, default=0) <= 1 and sum(values) > 1 + ROUNDING:
        yield next(iter(group.values())).mark, sum(values)


def _impossible(states: tuple[str, ...], alarm: Mapping[str, Number]) -> list[str]:
    never = [state for state in states[1:] if state not in alarm or alarm[state].value <= 0]
    # One that adds up to more than 1 is told by ``strengths``.
    return [states[0], *never] if abs(sum(n.value for n in alarm.values()) - 1) <= ROUNDING else never


def _parents(knowledge: Knowledge) -> dict[str, int]:
    count: dict[str, int] = {}
    for _, link in links(knowledge):
        count[link.child] = count.get(link.child, 0) + 1
    return count


def _named(states: Iterable[str]) -> str:
    return " and ".join(repr(state) for state in states)
