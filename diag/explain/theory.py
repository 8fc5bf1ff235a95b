"""A theory on trial: how likely it is, which rivals explain the same, and what weighs between them.

A theory is an initiating cause with statements beside it: effects said to be there, faults or effects said not to be.
A rival has another initiating cause, and of the same things the most probable state: so both say equally much.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from diag.explain.causes import UNEXPLAINED
from diag.explain.chain import Chain, chain_of
from diag.explain.stated import IMPOSSIBLE, Stated, Theory, state, supposing
from diag.explain.weight import Odds, Weight, nothing_told, weight
from diag.network.diagnosis import Diagnosis, Outcomes

Array = npt.NDArray[np.float64]

RIVALS = 3


@dataclass(frozen=True)
class Rival:
    """Another initiating cause with the most probable state of what the theory speaks of, the theory's cause absent.

    probability: of all of it, given the evidence. bayes_factor: of the theory against this rival; above 1 the evidence
    speaks for the theory. chain: the most probable course of it.
    """

    cause: str
    statements: Mapping[str, bool]
    probability: float
    bayes_factor: float = 0.0
    chain: Chain | None = None


@dataclass(frozen=True)
class Link:
    """The weakest link of a theory: the effect in its chain that is least likely, should the cause be right.

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
    """said: what the theory says of each effect and fault of this vehicle.

    probability: of the whole theory, given the evidence; prior: before anything was found. chain: its most probable
    course. rivals: the likeliest first. decibans: of all evidence together between the theory and the first rival;
    evidence: each finding left out alone, the heaviest first. unexplained: findings out of the ordinary behind which,
    were the theory right, likelier than not there is nothing known. stages: the number of stages it is judged by.
    """

    theory: Theory
    said: Mapping[str, bool]
    probability: float
    prior: float
    chain: Chain | None
    rivals: tuple[Rival, ...]
    decibans: float
    evidence: tuple[Weight, ...]
    unexplained: Mapping[str, float]
    weakest: Link | None
    stages: int

    @property
    def bayes_factor(self) -> float:
        """Against the best rival."""
        return self.rivals[0].bayes_factor


def trial(
    diagnosis: Diagnosis, theory: Theory, left_out: Mapping[str, Diagnosis], started: Diagnosis | None = None
) -> Trial:
    """Judge a theory. left_out: see ``leave_each_out``. Raises ImpossibleEvidence, CliqueTooLarge.

    started: the case before its first repair, by which chains and their weakest link are told; left out, there was no
    repair.
    """
    now, before = state(diagnosis, theory), state(nothing_told(diagnosis), theory)
    first = now if started is None else state(started, theory)
    rivals = tuple(
        replace(rival, chain=chain_of(first.diagnosis, rival.cause, rival.statements)) for rival in _rivals(now, before)
    )
    chain = chain_of(first.diagnosis, theory.cause, now.said)
    return Trial(
        theory=theory,
        said=now.said,
        probability=now.probability,
        prior=before.probability,
        chain=chain,
        rivals=rivals,
        decibans=weight(_odds(now, rivals[0]), _odds(before, rivals[0])),
        evidence=weights_between(now, rivals[0], left_out),
        unexplained=_unexplained(now),
        weakest=_weakest(first, chain),
        stages=len(diagnosis.case.stages),
    )


def weights_between(now: Stated, rival: Rival, left_out: Mapping[str, Diagnosis]) -> tuple[Weight, ...]:
    """What each finding weighs between the two, given all others; the heaviest first. left_out: as for ``trial``."""
    after = _odds(now, rival)
    weights = [Weight(f, weight(after, _odds(state(other, now.theory), rival))) for f, other in left_out.items()]
    return tuple(sorted(weights, key=lambda w: (-abs(w.decibans), w.finding)))


def _rivals(now: Stated, before: Stated) -> Iterator[Rival]:
    """Of each other cause the likeliest state of what the theory speaks of, its own cause not there; the best few."""
    own = now.theory.cause
    table = now.table[..., 0] if own in now.said else now.table
    flat = table.reshape(len(table), -1)
    order = [place for place in np.argsort(-flat.max(1), kind="stable").tolist() if place != now.place]
    for place in order[:RIVALS]:
        cell = np.unravel_index(int(flat[place].argmax()), table.shape[1:])
        said = {node: bool(there) for node, there in zip(now.said, cell, strict=False)}
        if own in now.said:
            said[own] = False
        yield _rival(now, before, Rival(now.diagnosis.case.states[place], said, float(flat[place].max())))


def _rival(now: Stated, before: Stated, rival: Rival) -> Rival:
    """With its Bayes factor; by way of decibans it is finite where nothing but the theory is possible."""
    odds = _odds(now, rival)
    factor = 10 ** (weight(odds, _odds(before, rival)) / 10) if odds[0] > 0 else 0.0
    return replace(rival, bayes_factor=factor)


def _odds(at: Stated, rival: Rival) -> Odds:
    return at.probability, at.of(rival.cause, rival.statements)


def _unexplained(now: Stated) -> dict[str, float]:
    if now.place is None or now.probability <= IMPOSSIBLE:
        return {}
    supposed = supposing(now.diagnosis, now.said)
    own = supposed.with_initiating([()])[0][now.place]
    chances = {f: w[now.place] / own for f, w in supposed.unexplained_with_cause().items()}
    return {finding: float(chance) for finding, chance in chances.items() if chance > UNEXPLAINED}


def _weakest(now: Stated, chain: Chain | None) -> Link | None:
    """Among the effects that the theory tells of and those that its most probable course adds."""
    effects = tuple(dict.fromkeys((*now.theory.followed, *(step.effect for step in (chain.steps if chain else ())))))
    if now.place is None or not effects or now.diagnosis.posterior[now.place] <= IMPOSSIBLE:
        return None
    chances = {}
    for effect, outcome in now.diagnosis.outcomes({effect: (effect,) for effect in effects}).items():
        own = outcome.joint[now.place]
        chances[effect] = float(own[1:].sum() / own.sum())
    weakest = min(chances, key=lambda node: chances[node])
    return _link(now.diagnosis, now.place, weakest, chances[weakest])


def _link(diagnosis: Diagnosis, place: int, effect: str, chance: float) -> Link:
    """What was found and could still be found that shows this effect itself."""
    case = diagnosis.case
    shows = [f for f in case.faults.children[effect] if f in case.knowledge.findings]
    # A flat likelihood says only that there was a look (a reading by a named instrument tells by a node of its own).
    told = {f: v.argmax() > 0 for f, v in case.likelihood.items() if f in shows and v.min() < v.max()}
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
