"""Which questions and tests would decide whether something is so, for what they cost from here."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diag.knowledge.types import Knowledge, Lock
from diag.network.case_network import CaseNetwork
from diag.network.diagnosis import Outcomes
from diag.plan.act import Act, act
from diag.plan.cost import score
from diag.plan.locks import Effects, locked_by, locks_in_force
from diag.plan.settings import Settings

MOST = 3
# Bits; below it what is asked about hardly moves. An unlikely theory has little to tell about even by a perfect test.
LEAST_GAIN = 1e-4


@dataclass(frozen=True)
class Decision:
    """One joint outcome: states by finding, its probability, and how probable what is asked about is after it."""

    findings: Mapping[str, str]
    probability: float
    then: float


@dataclass(frozen=True)
class Deciding:
    """A question or a test with its expected information gain about yes or no, in bits, and its outcomes."""

    act: Act
    gain_bits: float
    score: float
    outcomes: tuple[Decision, ...]


@dataclass(frozen=True)
class DecidingActs:
    """The best of both, best first: gain for cost, as everywhere."""

    questions: tuple[Deciding, ...]
    tests: tuple[Deciding, ...]


def deciding(case: CaseNetwork, outcomes: Mapping[str, Outcomes], settings: Settings, effects: Effects) -> DecidingActs:
    """The best few questions and tests; those that are locked are left out.

    outcomes: of every open question and test, joint of shape (2, ...): P(what is asked about, outcome | e) first.
    effects: P(effect | e) by id, for locks and harm.
    """
    telling = {id: outcome for id, outcome in outcomes.items() if outcome.gain > LEAST_GAIN}
    found = [_deciding(act(case, id, settings, effects), case, outcome, settings) for id, outcome in telling.items()]
    found.sort(key=lambda d: (-d.score, d.act.id))
    locks = locks_in_force(case.knowledge, case.observations, effects)
    tests = [d for d in found if d.act.id in case.knowledge.tests and not _barred(case.knowledge, locks, d.act)]
    questions = [d for d in found if d.act.id not in case.knowledge.tests]
    return DecidingActs(tuple(questions[:MOST]), tuple(tests[:MOST]))


def _barred(knowledge: Knowledge, locks: Sequence[Lock], of: Act) -> bool:
    return bool(of.way.barred_by or locked_by(locks, of.id, knowledge.tests[of.id].access, of.way))


def _deciding(of: Act, case: CaseNetwork, outcome: Outcomes, settings: Settings) -> Deciding:
    decisions = sorted(_decisions(case.knowledge, outcome), key=lambda d: -d.probability)
    return Deciding(of, outcome.gain, score(outcome.gain, of.cost, settings), tuple(decisions))


def _decisions(knowledge: Knowledge, outcome: Outcomes) -> Iterator[Decision]:
    states = [(knowledge.findings.get(f) or knowledge.history[f]).states for f in outcome.findings]
    chances = outcome.joint.sum(0)
    for seen in np.ndindex(*chances.shape):
        if chances[seen] > 0:
            told = {f: s[i] for f, s, i in zip(outcome.findings, states, seen, strict=True)}
            yield Decision(told, float(chances[seen]), float(outcome.joint[(0, *seen)] / chances[seen]))
