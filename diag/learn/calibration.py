"""Do probabilities keep their word? Reliability, Brier score and log loss of answers on cases whose truth is known.

References
----------
Brier 1950, Verification of forecasts expressed in terms of probability, Monthly Weather Review 78, 1-3 (the score over
    all classes: 0 for sure and right, 2 for sure and wrong).
Murphy and Winkler 1977, Reliability of subjective probability forecasts, Applied Statistics 26 (the table).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import sqrt

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import Knowledge
from diag.learn.confirmed import ClosedCase
from diag.learn.diagnosed import DiagnosedCase
from diag.learn.evaluate import asked_case, evaluate, in_use
from diag.learn.learning import learn
from diag.learn.rivals import by_cause
from diag.learn.scores import Judged
from diag.network.case_network import TARGET, UNLISTED_ID, compile_case
from diag.network.children import UNLISTED
from diag.network.diagnosis import Diagnosis
from diag.network.observations import Look, Observations
from diag.network.sampling import sample
from diag.text import Problem

Array = npt.NDArray[np.float64]

EDGES = (0.0, 0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.7, 0.9, 1.0)
FOLDS = 5
LOOKS = 20  # things seen in a drawn vehicle
NOTHING = Observations((), (), {}, frozenset(), None, {})


@dataclass(frozen=True)
class Reliable:
    """Answers between two probabilities: how many, their mean, how often they were true.

    error: the standard error of ``seen``, were what was said right.
    """

    low: float
    high: float
    count: int
    said: float
    seen: float
    error: float


@dataclass(frozen=True)
class Calibration:
    """brier: mean over the cases of the squared error over all causes; log_loss: mean in bits."""

    n: int
    brier: float
    log_loss: float
    table: tuple[Reliable, ...]


def calibration(rows: Sequence[Judged]) -> Calibration:
    """Of one method on its cases. Where several causes are true, they count as one answer."""
    answers = [answer for row in rows for answer in _answers(row)]
    said, true = np.array([p for p, _ in answers]), np.array([float(right) for _, right in answers])
    brier = [sum((p - right) ** 2 for p, right in _answers(row)) for row in rows]
    return Calibration(
        n=len(rows),
        brier=float(np.mean(brier)) if rows else 0.0,
        log_loss=float(np.mean([row.loss for row in rows])) if rows else 0.0,
        table=tuple(_table(said, true)),
    )


def cross_validated(
    knowledge: Knowledge, cases: Sequence[DiagnosedCase], view: str = "intake"
) -> tuple[list[Judged], list[Judged], list[Problem]]:
    """The answers by the base as it is, and by the base learnt from the other cases (in ``FOLDS`` parts)."""
    told, problems = evaluate(knowledge, cases, ["ours"], [view])
    before = list(told.judged["ours"][view])
    scored = {row.case for row in before}
    kept = [case for case in cases if case.id in scored]
    after: list[Judged] = []
    for fold in range(FOLDS):
        apart = [case for place, case in enumerate(kept) if place % FOLDS == fold]
        others = [closed for case in kept if case not in apart if (closed := _closed(knowledge, case, view))]
        learnt = learn(knowledge, others).after
        after += evaluate(learnt, apart, ["ours"], [view])[0].judged["ours"][view]
    order = {row.case: place for place, row in enumerate(before)}
    return before, sorted(after, key=lambda row: order[row.case]), problems


def drawn(knowledge: Knowledge, count: int, seed: int) -> list[Judged]:
    """Vehicles drawn from the base itself, ``LOOKS`` things seen in each, whatever they show.

    What to look at is drawn beforehand: were it chosen for what it shows, the choice itself would be evidence.
    """
    random = np.random.default_rng(seed)
    network = compile_case(knowledge, NOTHING).full_network()
    asked = list(knowledge.findings)
    found = []
    for _ in range(count):
        states = sample(network, random)
        seen = sorted(random.permutation(asked)[:LOOKS].tolist())
        looks = tuple(_look(knowledge, finding, states[finding]) for finding in seen)
        told = Observations(looks, (), {}, frozenset(), None, {})
        diagnosis = Diagnosis(compile_case(in_use(knowledge, told), told))
        truth = network[TARGET].states[states[TARGET]]
        listed = UNLISTED_ID if truth.startswith(UNLISTED) else truth
        found.append(Judged("drawn", (listed,), by_cause(diagnosis.case, diagnosis.posterior)))
    return found


def _look(knowledge: Knowledge, finding: str, state: int) -> Look:
    states = knowledge.findings[finding].states
    return Look(finding, tuple(float(place == state) for place in range(len(states))), False, 0, 1.0)


def _closed(knowledge: Knowledge, case: DiagnosedCase, view: str) -> ClosedCase | None:
    """The case as one that is closed; None where more than one cause is true, or nothing is told in this view."""
    truth = [cause for cause in case.truth if cause in knowledge.causes]
    told = case.known(view)
    if len(truth) != 1 or told is None:
        return None
    asked = asked_case(knowledge, case, (*case.fitted, *told), set())
    return ClosedCase(case.id, case.id, asked.case.observations, truth[0]) if asked else None


def _answers(row: Judged) -> Iterator[tuple[float, bool]]:
    """Every answer with whether it was true; the true causes together are one."""
    yield sum(row.answer.get(cause, 0.0) for cause in row.truth), True
    yield from ((p, False) for cause, p in row.answer.items() if cause not in row.truth)


def _table(said: Array, true: Array) -> Iterator[Reliable]:
    for low, high in pairwise(EDGES):
        inside = (said >= low) & ((said < high) | (high == 1.0))
        count = int(inside.sum())
        if count:
            chances = said[inside]
            error = sqrt(float((chances * (1 - chances)).sum())) / count
            yield Reliable(low, high, count, float(chances.mean()), float(true[inside].mean()), error)
