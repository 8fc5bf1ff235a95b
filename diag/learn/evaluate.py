"""Rankings scored on diagnosed cases, with the hits that the probabilities themselves expect beside those seen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import log2, sqrt

import numpy as np

from diag.case import Case, as_entries, observe
from diag.knowledge.types import Knowledge
from diag.learn.diagnosed import DiagnosedCase
from diag.learn.rivals import METHODS, Ranked
from diag.network.case_network import CaseNetwork, compile_case
from diag.text import Problem

# What a method that gives the truth nothing at all is charged: no finite score would be fair to compare.
LEAST = 1e-12
HITS = {"first": 1, "first3": 3, "first5": 5}


@dataclass(frozen=True)
class Expected:
    """How many hits the probabilities themselves expect, and the band that holds the number with 95 %."""

    mean: float
    low: int
    high: int


@dataclass(frozen=True)
class Score:
    """Counts over ``n`` cases: the truth among the first, first three, first five; its family first.

    expected: per count what the method's own probabilities say; log_loss: mean of -log2 of the probability that the
    truth was given, in bits; losses: one a case.
    """

    n: int
    first: int
    first3: int
    first5: int
    family_first: int
    expected: Mapping[str, Expected]
    log_loss: float
    losses: tuple[float, ...]


@dataclass(frozen=True)
class Evaluation:
    """scores[method][view]; refused: cases outside the scope, with the reason; skipped: no known truth."""

    scores: Mapping[str, Mapping[str, Score]]
    refused: Mapping[str, str]
    skipped: tuple[str, ...]
    ranks: Mapping[str, Mapping[str, int]]


def evaluate(
    knowledge: Knowledge, cases: Iterable[DiagnosedCase], methods: Sequence[str] = tuple(METHODS)
) -> tuple[Evaluation, list[Problem]]:
    """Score the methods on both views. Cases that name unknown ids are problems; the others are scored."""
    refused: dict[str, str] = {}
    skipped: list[str] = []
    problems: list[Problem] = []
    rows: dict[str, list[tuple[DiagnosedCase, CaseNetwork]]] = {"intake": [], "told": []}
    for case in cases:
        reason = refusal(knowledge, case)
        if reason:
            refused[case.id] = reason
        elif not any(cause in knowledge.causes for cause in case.truth):
            skipped.append(case.id)
        else:
            for view, told in (("intake", dict(case.intake)), ("told", case.told())):
                network = None if told is None else _compiled(knowledge, case, told, problems)
                if network is not None:
                    rows[view].append((case, network))
    scores: dict[str, dict[str, Score]] = {}
    ranks: dict[str, dict[str, int]] = {view: {} for view in rows}
    for method in methods:
        rank = METHODS[method]
        ranked = {view: [(case, rank(network)) for case, network in row] for view, row in rows.items()}
        scores[method] = {view: _score(knowledge, row) for view, row in ranked.items()}
        if method == "ours":
            for view, row in ranked.items():
                ranks[view] = {case.id: _rank(case, answer) for case, answer in row}
    return Evaluation(scores, refused, tuple(skipped), ranks), sorted(problems)


def refusal(knowledge: Knowledge, case: DiagnosedCase) -> str:
    """Why a vehicle is outside the scope; empty where it is inside."""
    for fitting, told in case.fitted.items():
        entry = knowledge.fittings.get(fitting)
        if entry is not None and entry.refuses and told == "yes":
            return entry.refuses
    return ""


def paired(ours: Score, other: Score) -> tuple[float, float]:
    """Mean of the paired difference in loss (other - ours), in bits, and its standard error."""
    difference = np.array(other.losses) - np.array(ours.losses)
    return float(difference.mean()), float(difference.std(ddof=1) / sqrt(len(difference)))


def _compiled(
    knowledge: Knowledge, case: DiagnosedCase, told: Mapping[str, str], problems: list[Problem]
) -> CaseNetwork | None:
    empty = Case(file=case.mark.file, vehicle=case.id, entries=())
    texts = [f"{id}={state}" for id, state in {**case.fitted, **told}.items()]
    entries, found = as_entries(empty, knowledge, texts)
    observations, more = observe(entries, knowledge)
    errors = [problem for problem in (*found, *more) if problem.severity == "error"]
    problems.extend(Problem(case.mark, p.code, f"{case.id}: {p.message}", p.hint) for p in errors)
    return None if errors else compile_case(knowledge, observations)


def _rank(case: DiagnosedCase, answer: Ranked) -> int:
    order = sorted(answer, key=lambda cause: (-answer[cause], cause))
    return min(order.index(cause) + 1 if cause in answer else len(order) + 1 for cause in case.truth)


def _score(knowledge: Knowledge, rows: list[tuple[DiagnosedCase, Ranked]]) -> Score:
    ranks = np.array([_rank(case, answer) for case, answer in rows])
    losses = tuple(-log2(max(sum(answer.get(c, 0.0) for c in case.truth), LEAST)) for case, answer in rows)
    tops = [sorted(answer.values(), reverse=True) for _, answer in rows]
    return Score(
        n=len(rows),
        first=int((ranks <= 1).sum()),
        first3=int((ranks <= 3).sum()),
        first5=int((ranks <= 5).sum()),
        family_first=sum(_family_first(knowledge, case, answer) for case, answer in rows),
        expected={name: expected_hits([sum(top[:most]) for top in tops]) for name, most in HITS.items()},
        log_loss=sum(losses) / len(losses) if losses else 0.0,
        losses=losses,
    )


def expected_hits(chances: Sequence[float], share: float = 0.95) -> Expected:
    """The number of hits of independent cases with these chances: its mean and its central band (exact)."""
    distribution = np.ones(1)
    for chance in chances:
        distribution = np.convolve(distribution, [1.0 - chance, chance])
    below = np.cumsum(distribution)
    outside = (1.0 - share) / 2
    low, high = int(np.searchsorted(below, outside)), int(np.searchsorted(below, 1.0 - outside))
    return Expected(float(sum(chances)), low, min(high, len(chances)))


def _family_first(knowledge: Knowledge, case: DiagnosedCase, answer: Ranked) -> bool:
    """Whether the family with the most probability is the family of a true cause."""
    families: dict[str, float] = {}
    for cause, p in answer.items():
        family = knowledge.causes[cause].family if cause in knowledge.causes else cause
        families[family] = families.get(family, 0.0) + p
    best = max(sorted(families), key=families.__getitem__)
    return best in {knowledge.causes[cause].family for cause in case.truth if cause in knowledge.causes}
