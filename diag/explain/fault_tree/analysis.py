"""All that is asked of a fault tree with independent events: probability, cut sets, importance of each event.

References
----------
Vesely, Goldberg, Roberts, Haasl 1981, Fault Tree Handbook, NUREG-0492, US NRC.
Birnbaum 1969, On the importance of different components in a multicomponent system, in: Multivariate Analysis II.
Rausand and Høyland 2004, System Reliability Theory, 2nd ed., ch. 5 (Birnbaum, criticality, Fussell-Vesely, risk
    achievement and risk reduction worth).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from diag.explain.fault_tree.compile import Function, compile_tree
from diag.explain.fault_tree.cut_sets import CutSets, minimal_cut_sets
from diag.explain.fault_tree.diagram import NODE_LIMIT, TreeTooLarge
from diag.explain.fault_tree.probability import birnbaum, given_each, probability
from diag.explain.fault_tree.tree import FaultTree

LISTED = 100  # cut sets; nobody reads more


@dataclass(frozen=True)
class Importance:
    """How much one event matters for the top, with Q = P(top), Q1 = P(top | event), Q0 = P(top | no event).

    birnbaum: Q1 - Q0. criticality: birnbaum x q / Q. fussell_vesely: P(some minimal cut set with the event is there
    in full) / Q. raw: Q1 / Q. rrw: Q / Q0. given_top: P(event | top). None where it is not defined or infinite, or
    where the cut sets could not be worked out.
    """

    cause: str
    birnbaum: float | None
    criticality: float | None
    fussell_vesely: float | None
    raw: float | None
    rrw: float | None
    given_top: float | None


@dataclass(frozen=True)
class Analysis:
    """``cannot`` says in sentences what could not be worked out, and why."""

    probability: float
    cut_sets: CutSets | None
    importance: tuple[Importance, ...]
    cannot: tuple[str, ...] = ()


def analyse_tree(tree: FaultTree, listed: int = LISTED, limit: int = NODE_LIMIT) -> Analysis:
    """Work the tree out exactly. Raises TreeTooLarge where not even its probability can be."""
    function = compile_tree(tree, limit)
    chance = tree.chances(function.order)
    total = probability(function, chance)
    importance = _importance(tree, function, chance, total)
    if not tree.coherent:
        return Analysis(total, None, _sorted(importance), ("Cut sets are of trees without NOT only.",))
    try:
        family = minimal_cut_sets(function, chance, limit)
        with_cut_sets = [
            replace(one, fussell_vesely=_ratio(family.chance_with(level), total))
            for level, one in enumerate(importance)
        ]
    except TreeTooLarge as error:
        return Analysis(total, None, _sorted(importance), (f"The cut sets could not be worked out: {error}",))
    return Analysis(total, family.listed(listed), _sorted(with_cut_sets))


def _importance(tree: FaultTree, function: Function, chance: list[float], total: float) -> list[Importance]:
    there, absent = given_each(function, chance)
    gaps = birnbaum(function, chance) if tree.coherent else there - absent
    return [
        Importance(
            cause=id,
            birnbaum=gap,
            criticality=_ratio(gap * q, total),
            fussell_vesely=None,
            raw=_ratio(with_it, total),
            rrw=_ratio(total, without_it),
            given_top=_ratio(q * with_it, total),
        )
        for id, q, gap, with_it, without_it in zip(
            function.order, chance, gaps.tolist(), there.tolist(), absent.tolist(), strict=True
        )
    ]


def _ratio(over: float, under: float) -> float | None:
    return over / under if under > 0 else None


def _sorted(found: list[Importance]) -> tuple[Importance, ...]:
    return tuple(sorted(found, key=lambda one: (-(one.criticality or 0.0), one.cause)))
