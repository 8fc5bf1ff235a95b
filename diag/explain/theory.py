"""A theory on trial: how likely it is, which rivals explain the same, and what weighs between them.

A theory is an initiating cause with statements beside it: effects said to be there, faults or effects said not to be.
A rival has another initiating cause, and of the same things the most probable state: so both say equally much.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from diag.explain.weight import Odds, Weight, nothing_told, weight
from diag.network.diagnosis import Diagnosis, Outcomes

Array = npt.NDArray[np.float64]

RIVALS = 3
# A finding is called unexplained where it is likelier than not that nothing known stands behind it.
UNEXPLAINED = 0.5


@dataclass(frozen=True)
class Theory:
    """followed: effects said to be there. absent: causes and effects said not to be there."""

    cause: str
    followed: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()


@dataclass(frozen=True)
class Rival:
    """Another initiating cause with the most probable state of what the theory speaks of.

    probability: of all of it, given the evidence. bayes_factor: of the theory against this rival; above 1 the evidence
    speaks for the theory.
    """

    cause: str
    statements: Mapping[str, bool]
    probability: float
    bayes_factor: float


@dataclass(frozen=True)
class Link:
    """The weakest link of a theory: the effect that is least likely, should the cause be right.

    shown_by, denied_by: findings it would show that were seen, and that were looked for and not seen. would_show: the
    open finding that would tell most about it, or "".
    """

    effect: str
    probability: float
    shown_by: tuple[str, ...]
    denied_by: tuple[str, ...]
    would_show: str


@dataclass(frozen=True)
class Trial:
    """probability: of the whole theory, given the evidence; prior: before anything was found.

    rivals: the likeliest first. decibans: of all evidence together between the theory and the first rival; evidence:
    each finding left out alone, the heaviest first. unexplained: findings out of the ordinary behind which, were the
    theory right, likelier than not there is nothing known.
    """

    theory: Theory
    probability: float
    prior: float
    rivals: tuple[Rival, ...]
    decibans: float
    evidence: tuple[Weight, ...]
    unexplained: Mapping[str, float]
    weakest: Link | None

    @property
    def bayes_factor(self) -> float:
        """Against the best rival."""
        return self.rivals[0].bayes_factor


def trial(diagnosis: Diagnosis, theory: Theory, left_out: Mapping[str, Diagnosis]) -> Trial:
    """Judge a theory. left_out: see ``leave_each_out``. Raises ImpossibleEvidence."""
    now, before = stated(diagnosis, theory), stated(nothing_told(diagnosis), theory)
    rivals = tuple(_rival(diagnosis, theory, now, before, place) for place in _best_rivals(diagnosis, theory, now))
    after, prior = (_odds(diagnosis, theory, rivals[0], table) for table in (now, before))
    return Trial(
        theory=theory,
        probability=_of_theory(diagnosis, theory, now),
        prior=_of_theory(diagnosis, theory, before),
        rivals=rivals,
        decibans=weight(after, prior),
        evidence=weights_between(diagnosis, theory, rivals[0], left_out),
        unexplained=_unexplained(diagnosis, theory),
        weakest=_weakest(diagnosis, theory, now),
    )


def weights_between(
    diagnosis: Diagnosis, theory: Theory, rival: Rival, left_out: Mapping[str, Diagnosis]
) -> tuple[Weight, ...]:
    """What each finding weighs between the two, given all others; the heaviest first. left_out: as for ``trial``."""
    after = _odds(diagnosis, theory, rival, stated(diagnosis, theory))
    weights = [
        Weight(f, weight(after, _odds(other, theory, rival, stated(other, theory)))) for f, other in left_out.items()
    ]
    return tuple(sorted(weights, key=lambda w: (-abs(w.decibans), w.finding)))


def stated(diagnosis: Diagnosis, theory: Theory) -> Array:
    """P(C, what the theory speaks of | e), shape (states of C, 2, 2, ...), one axis (not there, there) a statement."""
    nodes = _nodes(diagnosis, theory)
    if not nodes:
        return diagnosis.posterior
    table = diagnosis.outcomes({"stated": nodes})["stated"].joint
    for axis in range(1, table.ndim):
        sound = table.take([0], axis)
        table = np.concatenate([sound, table.sum(axis, keepdims=True) - sound], axis)
    return np.clip(table, 0.0, None)


def supposing(diagnosis: Diagnosis, theory: Theory) -> Diagnosis:
    """The case were the statements beside the cause known: evidence on effects and faults themselves."""
    case = diagnosis.case
    told = dict(case.likelihood)
    for node in _nodes(diagnosis, theory):
        sound = np.eye(case.faults.card(node))[0]
        told[node] = told.get(node, 1.0) * (1.0 - sound if node in theory.followed else sound)
    return Diagnosis(replace(case, likelihood=told))


def against_the_rest(diagnosis: Diagnosis, theory: Theory) -> dict[str, Outcomes]:
    """P(theory or not, outcome | e) of every open question and test; shape (2, ...), the theory first."""
    supposed = supposing(diagnosis, theory)
    share = supposed.probability_of_evidence / diagnosis.probability_of_evidence
    place = _place(diagnosis, theory)
    found = {}
    for act, outcome in diagnosis.open_outcomes.items():
        whole = outcome.joint.sum(0)
        part = np.zeros_like(whole)
        if place is not None and share > 0:
            part = np.minimum(supposed.open_outcomes[act].joint[place] * share, whole)
        found[act] = Outcomes(outcome.findings, np.stack([part, whole - part]))
    return found


def _nodes(diagnosis: Diagnosis, theory: Theory) -> tuple[str, ...]:
    """What the theory speaks of beside its cause; a fault that this vehicle cannot have is absent anyway."""
    faults = diagnosis.case.faults
    return tuple(node for node in dict.fromkeys((*theory.followed, *theory.absent)) if node in faults)


def _place(diagnosis: Diagnosis, theory: Theory) -> int | None:
    """None where this vehicle cannot have the cause."""
    states = diagnosis.case.states
    return states.index(theory.cause) if theory.cause in states else None


def _of_theory(diagnosis: Diagnosis, theory: Theory, table: Array) -> float:
    place = _place(diagnosis, theory)
    if place is None:
        return 0.0
    return float(table[(place, *(int(node in theory.followed) for node in _nodes(diagnosis, theory)))])


def _best_rivals(diagnosis: Diagnosis, theory: Theory, table: Array) -> list[tuple[int, ...]]:
    """The best cell of each other cause, the likeliest causes first."""
    own = _place(diagnosis, theory)
    flat = table.reshape(len(table), -1)
    order = [place for place in np.argsort(-flat.max(1), kind="stable").tolist() if place != own]
    cells = [np.unravel_index(int(flat[place].argmax()), table.shape[1:]) for place in order[:RIVALS]]
    return [(place, *map(int, cell)) for place, cell in zip(order, cells, strict=False)]


def _rival(diagnosis: Diagnosis, theory: Theory, now: Array, before: Array, cell: tuple[int, ...]) -> Rival:
    statements = {node: bool(there) for node, there in zip(_nodes(diagnosis, theory), cell[1:], strict=True)}
    odds = (_of_theory(diagnosis, theory, now), float(now[cell]))
    prior_odds = (_of_theory(diagnosis, theory, before), float(before[cell]))
    # By way of decibans it stays finite where nothing but the theory is possible.
    factor = 10 ** (weight(odds, prior_odds) / 10) if odds[0] > 0 else 0.0
    return Rival(diagnosis.case.states[cell[0]], statements, odds[1], factor)


def _odds(diagnosis: Diagnosis, theory: Theory, rival: Rival, table: Array) -> Odds:
    cell = (diagnosis.case.states.index(rival.cause), *(int(there) for there in rival.statements.values()))
    return _of_theory(diagnosis, theory, table), float(table[cell])


def _unexplained(diagnosis: Diagnosis, theory: Theory) -> dict[str, float]:
    supposed, place = supposing(diagnosis, theory), _place(diagnosis, theory)
    if place is None or not supposed.evidence_given_cause[place] > 0:
        return {}
    chances = {f: w[place] / supposed.posterior[place] for f, w in supposed.unexplained_with_cause().items()}
    return {finding: float(chance) for finding, chance in chances.items() if chance > UNEXPLAINED}


def _weakest(diagnosis: Diagnosis, theory: Theory, table: Array) -> Link | None:
    place = _place(diagnosis, theory)
    if place is None or not theory.followed or not diagnosis.posterior[place] > 0:
        return None
    chances = {}
    for axis, node in enumerate(_nodes(diagnosis, theory)):
        if node in theory.followed:
            own = table[place].sum(tuple(a for a in range(table.ndim - 1) if a != axis))
            chances[node] = float(own[1] / own.sum())
    effect = min(chances, key=lambda node: chances[node])
    return link(diagnosis, place, effect, chances[effect])


def link(diagnosis: Diagnosis, place: int, effect: str, chance: float) -> Link:
    """What was found and could still be found that shows this effect itself."""
    case = diagnosis.case
    shows = [f for f in case.faults.children[effect] if f in case.knowledge.findings]
    told = {f: int(case.likelihood[f].argmax()) > 0 for f in shows if f in case.likelihood}
    open_findings = {f: (effect, f) for f in shows if f not in case.recorded}
    gains = {
        f: Outcomes((f,), outcome.joint[place] / outcome.joint[place].sum()).gain
        for f, outcome in diagnosis.outcomes(open_findings).items()
    }
    return Link(
        effect,
        chance,
        shown_by=tuple(f for f, seen in told.items() if seen),
        denied_by=tuple(f for f, seen in told.items() if not seen),
        would_show=max(gains, key=lambda f: gains[f], default=""),
    )
