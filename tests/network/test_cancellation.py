"""Gates as signed sums of products lose digits where much cancels. How many, against sums in which nothing can.

The exact answer adds up positive terms only, over every set of second faults: in fractions where the base is tiny,
in floating point (relative error about 1e-14) where it is larger.
"""

from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest
from oracle.knowledge import base, cause, finding, look, seen
from oracle.shipped_cases import random_case, shipped
from oracle.slow_elimination import Number, root_weights

from diag.network.case_network import CaseNetwork, compile_case
from diag.network.diagnosis import Diagnosis

RELATIVE = 1e-9
YES = (0.0, 1.0)


@pytest.mark.parametrize("drawn", [True, False], ids=["drawn from the model", "states at random"])
@pytest.mark.parametrize("seed", range(4))
def test_sixty_findings_on_the_shipped_base(seed, drawn):
    """Worst found: 8e-13, at P(e | c) down to 1e-53."""
    case = random_case(shipped(), seed, 60, drawn)
    by_fault = root_weights(case.faults, case.likelihood, case.causes)[:, :, 0]
    expected = np.append(by_fault[:, 1] / case.coexistence.astype(Number), by_fault[0].sum()) * case.history
    assert worst_relative(case, expected) < RELATIVE


def worst_relative(case: CaseNetwork, expected: np.ndarray) -> float:
    """Largest relative error of P(e | c) over c."""
    found = Diagnosis(case).evidence_given_cause
    return max(abs(float(f / e) - 1) for f, e in zip(found.tolist(), expected, strict=True))


def weak_case(causes: int, findings: int, parents: int, strength: float, leak: float) -> CaseNetwork:
    """Every finding is there, and no cause makes it much likelier than its false alarm does."""
    numbers = np.random.default_rng(1)
    names = [f"finding{i}" for i in range(findings)]
    shows: list[dict[str, float]] = [{} for _ in range(causes)]
    for name in names:
        for parent in numbers.choice(causes, size=parents, replace=False):
            shows[parent][name] = strength * numbers.uniform(0.5, 1.5)
    knowledge = base(
        [cause(f"cause{i:02}", numbers.uniform(0.5, 2.0), shows=links) for i, links in enumerate(shows)],
        [finding(name, {"yes": leak * numbers.uniform(0.5, 1.5)}) for name in names],
    )
    return compile_case(knowledge, seen(*(look(name, YES) for name in names)))


def positive_sum(case: CaseNetwork, number: Callable[[float], Fraction | float]) -> np.ndarray:
    """P(e | C), shape (states of C,): over all sets of faults, P(set | C) x product of P(finding | set)."""
    count = len(case.causes)
    sets = np.arange(2**count)[:, None] >> np.arange(count) & 1 == 1
    evidence = np.prod([yes_given(case, name, sets, number) for name in case.knowledge.findings], axis=0)
    there = np.array([number(q) for q in case.coexistence.tolist()])
    second = np.where(sets, there, 1 - there)
    rows = []
    for initiating in range(count + 1):
        chance = second.copy()
        chance[:, initiating : initiating + 1] = sets[:, initiating : initiating + 1] * number(1.0)
        rows.append((np.prod(chance, axis=1) * evidence).sum())
    return np.array(rows)


def yes_given(
    case: CaseNetwork, name: str, sets: np.ndarray, number: Callable[[float], Fraction | float]
) -> np.ndarray:
    """P(finding | set of faults): the false alarm, then fault by fault a + b - ab, written a + b (1 - a)."""
    chance = np.full(len(sets), number(case.knowledge.findings[name].false_alarm["yes"].value))
    for place, fault in enumerate(case.causes):
        for link in case.knowledge.causes[fault].shows:
            if link.child == name:
                strength = number(link.strengths["yes"]["yes"].value)
                chance = np.where(sets[:, place], chance + strength * (1 - chance), chance)
    return chance


@pytest.mark.parametrize("parents", [3, 6])
def test_many_weak_findings_in_exact_fractions(parents):
    """60 findings, P(e | c) about 1e-160: each is written over the same few causes and nothing is lost."""
    case = weak_case(6, 60, parents, strength=1e-3, leak=1e-3)
    exact = positive_sum(case, Fraction)
    assert max(exact) < 1e-120
    found = Diagnosis(case).evidence_given_cause.tolist()
    assert max(abs(Fraction(f) / e - 1) for f, e in zip(found, exact, strict=True)) < RELATIVE


def test_floating_point_sum_of_positive_terms_is_as_good_as_fractions():
    case = weak_case(6, 60, 3, strength=1e-3, leak=1e-3)
    exact, rounded = positive_sum(case, Fraction), positive_sum(case, float)
    assert max(abs(Fraction(r) / e - 1) for r, e in zip(rounded.tolist(), exact, strict=True)) < 1e-13


@pytest.mark.parametrize(
    ("causes", "findings", "parents", "strength", "leak"),
    [
        (12, 60, 12, 1e-3, 1e-3),
        (12, 30, 8, 0.05, 0.01),
        (12, 60, 4, 0.05, 0.02),
        (12, 6, 12, 0.3, 0.02),
        (12, 8, 12, 0.3, 0.02),
    ],
)
def test_weak_findings_that_stay_exact(causes, findings, parents, strength, leak):
    case = weak_case(causes, findings, parents, strength, leak)
    assert worst_relative(case, positive_sum(case, float)) < RELATIVE


@pytest.mark.parametrize(
    ("causes", "findings", "parents", "strength", "leak"),
    [
        (14, 13, 14, 0.2, 0.02),  # signed sums: relative error 3e-7
        (14, 10, 14, 0.1, 0.01),  # 5e-6
        (12, 9, 12, 0.01, 0.01),  # 14: no digit is left
        (12, 6, 12, 1e-3, 1e-3),  # 16
        (12, 6, 12, 1e-4, 1e-4),  # 2e8
    ],
)
def test_weak_findings_that_signed_sums_would_lose(causes, findings, parents, strength, leak):
    case = weak_case(causes, findings, parents, strength, leak)
    assert worst_relative(case, positive_sum(case, float)) < RELATIVE
