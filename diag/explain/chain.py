"""A whole explanation as a chain: what came of what, from the initiating cause to what was seen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from diag.explain.stated import IMPOSSIBLE, supposing
from diag.network.case_explanation import Explanation, Explanations
from diag.network.diagnosis import Diagnosis
from diag.network.explanation import GateTooWide
from diag.network.gates import Gate
from diag.network.model import Node
from diag.network.plan import CliqueTooLarge


@dataclass(frozen=True)
class Step:
    """An effect that is there, its state, and what in the chain brings it about; nothing where it came by itself."""

    effect: str
    state: str
    because: tuple[str, ...]


@dataclass(frozen=True)
class Chain:
    """The most probable course with one initiating cause.

    beside: further faults that it holds. steps: causes before effects. unexplained: findings out of the ordinary that
    nothing in it brings about. probability: of this very course, given the evidence.
    """

    cause: str
    beside: tuple[str, ...]
    steps: tuple[Step, ...]
    unexplained: tuple[str, ...]
    probability: float


def best_chains(diagnosis: Diagnosis, count: int) -> tuple[Chain, ...]:
    """The most probable course, and the next ones without the initiating causes of the better ones.

    Empty where too much hangs together to be told exactly. Raises ImpossibleEvidence.
    """
    try:
        return tuple(_chain(diagnosis, found, found.probability) for found in Explanations(diagnosis).best(count))
    except (GateTooWide, CliqueTooLarge):
        return ()


def chain_of(diagnosis: Diagnosis, cause: str, said: Mapping[str, bool]) -> Chain | None:
    """The most probable course with this initiating cause in which certain faults and effects are there, or not.

    None where there is none, and where too much hangs together to be told exactly.
    """
    if cause not in diagnosis.case.states:
        return None
    supposed = supposing(diagnosis, said)
    share = supposed.probability_of_evidence / diagnosis.probability_of_evidence
    if not share > IMPOSSIBLE:
        return None
    try:
        found = Explanations(supposed).with_cause(cause)
    except (GateTooWide, CliqueTooLarge):
        return None
    return _chain(diagnosis, found, found.probability * share) if found.probability > 0 else None


def _chain(diagnosis: Diagnosis, found: Explanation, probability: float) -> Chain:
    case = diagnosis.case
    there = dict.fromkeys((found.cause, *found.beside), "yes") | dict(found.effects)
    numbers = {n: case.faults[n].states.index(state) for n, state in there.items() if n in case.faults}
    return Chain(
        cause=found.cause,
        beside=found.beside,
        steps=tuple(Step(e, s, because(case.faults[e], numbers)) for e, s in found.effects.items()),
        unexplained=tuple(
            f
            for f, told in case.likelihood.items()
            if f in case.knowledge.findings and int(np.argmax(told)) > 0 and not because(case.faults[f], numbers)
        ),
        probability=probability,
    )


def because(node: Node, there: Mapping[str, int]) -> tuple[str, ...]:
    """The parents that are there and, in the states they are in, act on this node."""
    local = node.local
    if not isinstance(local, Gate):
        return tuple(parent for parent in node.parents if parent in there)
    return tuple(
        parent
        for parent, part in zip(node.parents, local.parts, strict=True)
        if parent in there and bool(np.any(part[there[parent]] != 1.0))
    )
