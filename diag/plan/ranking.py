"""Questions and hands-on tests, each ranked by what they tell for what they cost.

Two lists: a question costs a minute of talk and would always stand first in one list. Score = expected
information gain about the initiating cause / (cost + the price of a step of attention).

References
----------
Heckerman, Breese and Rommelse 1995, Decision-theoretic troubleshooting, CACM 38(3) (costs, one step ahead).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from diag.knowledge.types import Knowledge
from diag.network.diagnosis import Diagnosis, Outcomes
from diag.network.leader import leading
from diag.plan.access import Way
from diag.plan.act import Act, act
from diag.plan.cost import score
from diag.plan.settings import Settings


@dataclass(frozen=True)
class OutcomePreview:
    """One joint outcome: states by finding, its probability, and who would lead after it, how surely."""

    findings: Mapping[str, str]
    probability: float
    leader: str
    leader_probability: float


@dataclass(frozen=True)
class Proposal:
    """A question or a test: what it tells, what it costs from here, and what may come out."""

    id: str
    name: str
    gain_bits: float
    cost: float
    score: float
    minutes: float
    money: float
    waiting: float
    way: Way
    outcomes: tuple[OutcomePreview, ...]


@dataclass(frozen=True)
class Locked:
    """A test that must not or cannot be done now."""

    id: str
    name: str
    why: str
    way_out: str


@dataclass(frozen=True)
class Stop:
    """Whether to stop testing, and why."""

    advised: bool
    why: str


@dataclass(frozen=True)
class Ranking:
    """Both lists, best first, what is locked, and whether to stop."""

    questions: tuple[Proposal, ...]
    tests: tuple[Proposal, ...]
    locked: tuple[Locked, ...]
    stop: Stop


def rank(diagnosis: Diagnosis, settings: Settings) -> Ranking:
    """What to ask and what to test next. Raises ImpossibleEvidence."""
    knowledge = diagnosis.case.knowledge
    questions = _best_first(_questions(diagnosis, settings), settings)
    tests = _best_first(_tests(diagnosis, settings), settings)
    free = tuple(test for test in tests if not test.way.barred_by)
    locked = tuple(_lock(knowledge, test) for test in tests if test.way.barred_by)
    return Ranking(questions, free, locked, _stop(diagnosis, settings, questions, free))


def _questions(diagnosis: Diagnosis, settings: Settings) -> Iterator[Proposal]:
    tests = diagnosis.case.knowledge.tests
    for question, outcome in diagnosis.open_outcomes.items():
        if question not in tests:
            yield _proposal(diagnosis, act(diagnosis.case, question, settings), outcome, settings)


def _tests(diagnosis: Diagnosis, settings: Settings) -> Iterator[Proposal]:
    tests = diagnosis.case.knowledge.tests
    for test, outcome in diagnosis.open_outcomes.items():
        if test in tests:
            yield _proposal(diagnosis, act(diagnosis.case, test, settings), outcome, settings)


def _proposal(diagnosis: Diagnosis, of: Act, outcome: Outcomes, settings: Settings) -> Proposal:
    gain = outcome.gain
    previews = tuple(_previews(diagnosis, outcome)) if gain >= settings.least_gain else ()
    told = score(gain, of.cost, settings)
    return Proposal(of.id, of.name, gain, of.cost, told, of.minutes, of.money, of.waiting, of.way, previews)


def _previews(diagnosis: Diagnosis, outcome: Outcomes) -> Iterator[OutcomePreview]:
    """Every joint outcome that can come, the likeliest first."""
    knowledge = diagnosis.case.knowledge
    states = [(knowledge.findings.get(f) or knowledge.history[f]).states for f in outcome.findings]
    flat = outcome.joint.reshape(outcome.joint.shape[0], -1)
    chance = flat.sum(0)
    shape = outcome.joint.shape[1:]
    for place in np.argsort(-chance, kind="stable").tolist():
        if chance[place] > 0:
            seen = np.unravel_index(place, shape)
            leader, probability = leading(diagnosis, flat[:, place] / chance[place])
            yield OutcomePreview(
                {f: s[int(i)] for f, s, i in zip(outcome.findings, states, seen, strict=True)},
                float(chance[place]),
                leader,
                probability,
            )


def _best_first(proposals: Iterator[Proposal], settings: Settings) -> tuple[Proposal, ...]:
    worth = (proposal for proposal in proposals if proposal.gain_bits >= settings.least_gain)
    return tuple(sorted(worth, key=lambda proposal: (-proposal.score, proposal.id)))


def _lock(knowledge: Knowledge, test: Proposal) -> Locked:
    step, held = test.way.barred_by[0]
    wanted, now = knowledge.access[step].name, knowledge.access[held].name
    why = f"it needs '{wanted}', and the vehicle is '{now}'"
    return Locked(test.id, test.name, why, f"undo '{now}' first: record {held}=no")


def _stop(
    diagnosis: Diagnosis, settings: Settings, questions: tuple[Proposal, ...], tests: tuple[Proposal, ...]
) -> Stop:
    leader = diagnosis.leader
    certainty = float(diagnosis.posterior.max())
    if certainty >= settings.certainty:
        return Stop(True, f"{leader} is likelier than the certainty wanted ({settings.certainty:g})")
    if not questions and not tests:
        return Stop(True, "no open question or test would still tell enough")
    return Stop(False, "")
