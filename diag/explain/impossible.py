"""Which findings contradict each other: a smallest set, in the sense that dropping any one makes it possible."""

from __future__ import annotations

from dataclasses import replace

from diag.knowledge.types import Knowledge
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.observations import Look, Observations


def impossible_findings(knowledge: Knowledge, observations: Observations) -> tuple[Look, ...]:
    """An irreducible set of looks that together are impossible; empty where the evidence is possible.

    Deletion filter: each look is left out in turn, and put back only where the rest became possible.
    """
    kept = (*observations.looks, *observations.history)
    if _possible(knowledge, observations, kept):
        return ()
    for look in kept:
        rest = tuple(other for other in kept if other is not look)
        if not _possible(knowledge, observations, rest):
            kept = rest
    return kept


def _possible(knowledge: Knowledge, observations: Observations, kept: tuple[Look, ...]) -> bool:
    looks = tuple(look for look in observations.looks if any(look is k for k in kept))
    history = tuple(look for look in observations.history if any(look is k for k in kept))
    case = compile_case(knowledge, replace(observations, looks=looks, history=history))
    return Diagnosis(case).probability_of_evidence > 0
