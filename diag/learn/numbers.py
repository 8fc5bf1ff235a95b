"""The numbers of a base that cases can teach, read from it and put back into it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import Cause, Effect, Finding, Knowledge, Link, Number
from diag.learn.expected import Throw
from diag.learn.posterior import ROOM, size_of
from diag.network.case_network import NOTHING_WRONG
from diag.network.children import UNLISTED

Array = npt.NDArray[np.float64]

Parent = TypeVar("Parent", Cause, Effect)
WORTH = "knowledge_worth"


def weights_of(knowledge: Knowledge) -> dict[str, float]:
    """The weight of every cause, of what no chapter lists by mechanism, and of ``nothing_wrong``."""
    found = {cause.id: cause.weight.value for cause in knowledge.causes.values()}
    for effect in knowledge.effects.values():
        if effect.residual is not None and effect.residual.value > 0:
            found[UNLISTED + effect.id] = effect.residual.value
    return {**found, NOTHING_WRONG: knowledge.model["share_without_fault"].value.value}


def with_weights(knowledge: Knowledge, weights: Mapping[str, float]) -> Knowledge:
    """The base with these weights."""
    causes = {c.id: replace(c, weight=replace(c.weight, value=weights[c.id])) for c in knowledge.causes.values()}
    effects = {e.id: _with_residual(e, weights) for e in knowledge.effects.values()}
    nothing = knowledge.model["share_without_fault"]
    told = replace(nothing, value=replace(nothing.value, value=weights[NOTHING_WRONG]))
    return replace(knowledge, causes=causes, effects=effects, model={**knowledge.model, nothing.id: told})


def _with_residual(effect: Effect, weights: Mapping[str, float]) -> Effect:
    if effect.residual is None or UNLISTED + effect.id not in weights:
        return effect
    return replace(effect, residual=replace(effect.residual, value=weights[UNLISTED + effect.id]))


def throws_of(knowledge: Knowledge) -> dict[Throw, Array]:
    """The distribution of every throw that can be learnt, shape (states of the child,), the ordinary one first.

    Links into effects that are no plain noisy-OR, and those of what no chapter lists, are left as they are.
    """
    found = {}
    for parent, link, state in _links(knowledge):
        child = _child(knowledge, link.child)
        if isinstance(child, Finding) or (child.gate == "or" and not child.inhibited_by):
            found[Throw(link.child, parent.id, state)] = _distribution(child.states, link.strengths[state])
    for finding in knowledge.findings.values():
        found[Throw(finding.id)] = _distribution(finding.states, finding.false_alarm)
    return found


def sizes_of(knowledge: Knowledge) -> dict[Throw, float]:
    """How many cases each distribution is worth: the least sure of its numbers says."""
    worth = knowledge.model[WORTH].value.value
    numbers: dict[Throw, Mapping[str, Number]] = {
        Throw(link.child, parent.id, state): link.strengths[state] for parent, link, state in _links(knowledge)
    }
    numbers |= {Throw(finding.id): finding.false_alarm for finding in knowledge.findings.values()}
    return {throw: min((size_of(n, worth) for n in told.values()), default=worth) for throw, told in numbers.items()}


def with_throws(knowledge: Knowledge, throws: Mapping[Throw, Array]) -> Knowledge:
    """The base with these distributions."""
    causes = {c.id: _with_links(c, knowledge, throws) for c in knowledge.causes.values()}
    effects = {e.id: _with_links(e, knowledge, throws) for e in knowledge.effects.values()}
    findings = {
        f.id: replace(f, false_alarm=_numbers(f.false_alarm, f.states, throws[Throw(f.id)]))
        if Throw(f.id) in throws
        else f
        for f in knowledge.findings.values()
    }
    return replace(knowledge, causes=causes, effects=effects, findings=findings)


def _with_links(entry: Parent, knowledge: Knowledge, throws: Mapping[Throw, Array]) -> Parent:
    def moved(link: Link) -> Link:
        states = _child(knowledge, link.child).states
        strengths = {}
        for state, told in link.strengths.items():
            throw = Throw(link.child, entry.id, state)
            strengths[state] = _numbers(told, states, throws[throw]) if throw in throws else told
        return replace(link, strengths=strengths)

    return replace(entry, leads_to=tuple(map(moved, entry.leads_to)), shows=tuple(map(moved, entry.shows)))


def _numbers(told: Mapping[str, Number], states: tuple[str, ...], chances: Array) -> dict[str, Number]:
    return {state: replace(number, value=float(chances[states.index(state)])) for state, number in told.items()}


def _links(knowledge: Knowledge) -> Iterator[tuple[Cause | Effect, Link, str]]:
    entries: list[Cause | Effect] = [*knowledge.causes.values(), *knowledge.effects.values()]
    for entry in entries:
        for link in (*entry.leads_to, *entry.shows):
            for state in link.strengths:
                yield entry, link, state


def _child(knowledge: Knowledge, id: str) -> Effect | Finding:
    return knowledge.effects[id] if id in knowledge.effects else knowledge.findings[id]


def _distribution(states: tuple[str, ...], numbers: Mapping[str, Number]) -> Array:
    """What can never come stays so; the ordinary state keeps a little room, so that a case can speak for it."""
    chances = np.array([numbers[s].value if s in numbers else 0.0 for s in states])
    chances[0] = max(1.0 - chances[1:].sum(), ROOM)
    return np.asarray(chances / chances.sum())
