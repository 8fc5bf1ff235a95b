"""Published troubleshooting problems: what they cost at best, and what looking one step ahead costs."""

import itertools
import random
from pathlib import Path

import pytest

from diag.plan.small_file import read_small_problem
from diag.plan.small_problem import SmallProblem, SmallRepair, SmallTest
from diag.plan.small_solver import SmallPlan, solve

HERE = Path(__file__).parent


def problem(name: str) -> SmallProblem:
    found, problems = read_small_problem(HERE / name)
    assert found is not None, problems
    return found


def test_six_states_five_tests_pattipati_alexandridis_1990():
    """Published optimum 2.18; looking one step ahead (t1 first) ends at 2.86, 31 % dearer (recomputed)."""
    best = solve(problem("sequencing.yaml"))
    assert best.expected_cost == pytest.approx(2.18, abs=1e-12) and best.proved and best.plan.act == "t2"
    greedy = solve(problem("sequencing.yaml"), depth=1)
    assert greedy.expected_cost == pytest.approx(2.86, abs=1e-12) and not greedy.proved and greedy.plan.act == "t1"
    assert greedy.lower_bound <= best.expected_cost


def test_dependent_repairs_jensen_et_al_2001():
    """Published: by probability per cost 1.50 (A2 first), at best 1.45 (A3, A1)."""
    best = solve(problem("dependent_repairs.yaml"))
    assert best.expected_cost == pytest.approx(1.45, abs=1e-12) and best.proved
    assert (best.plan.act, best.plan.then["failed"].act) == ("A3", "A1")
    greedy = solve(problem("dependent_repairs.yaml"), depth=1)
    assert greedy.expected_cost == pytest.approx(1.50, abs=1e-12) and not greedy.proved and greedy.plan.act == "A2"


CHANCES, COSTS = (0.5, 0.3, 0.2), (5.0, 3.0, 2.5)  # a small case of Kalagnanam and Henrion 1988, recomputed


def one_by_one(aim: str) -> SmallProblem:
    """Three components, of which each test or repair tells or mends one for certain."""
    causes = {f"c{i}": p for i, p in enumerate(CHANCES)}
    own = [tuple(float(i == j) for j in range(3)) for i in range(3)]
    tests = {f"t{i}": SmallTest(COSTS[i], {"no": tuple(1 - x for x in own[i]), "yes": own[i]}) for i in range(3)}
    repairs = {f"r{i}": SmallRepair(COSTS[i], own[i]) for i in range(3)}
    return SmallProblem(aim, causes, tests if aim == "find" else {}, repairs if aim == "mend" else {})


def test_the_last_candidate_is_deduced_or_not_kalagnanam_henrion_1988():
    """Cost over probability is best only where the last one is tested like the others: 7.00; deduced 4.75, not 6.50."""
    all_done = solve(one_by_one("mend"))
    assert all_done.expected_cost == pytest.approx(7.00, abs=1e-12) and all_done.proved
    deduced = solve(one_by_one("find"))
    assert deduced.expected_cost == pytest.approx(4.75, abs=1e-12) and deduced.proved
    assert _order(deduced.plan) == ["t1", "t2"]


def _order(plan: SmallPlan) -> list[str]:
    return [plan.act, *_order(plan.then["no"])] if plan.act else []


def test_cost_over_probability_is_best_for_single_repairs():
    """Theorem (Kadane and Simon 1977): against every order, 50 random problems of five components."""
    rng = random.Random(1)
    for _ in range(50):
        p = [rng.random() for _ in range(5)]
        p = [x / sum(p) for x in p]
        c = [rng.uniform(0.5, 5) for _ in range(5)]
        repairs = {f"r{i}": SmallRepair(c[i], tuple(float(i == j) for j in range(5))) for i in range(5)}
        wanted = min(
            sum(c[i] * (1 - sum(p[j] for j in order[:place])) for place, i in enumerate(order))
            for order in itertools.permutations(range(5))
        )
        found = SmallProblem("mend", {f"c{i}": x for i, x in enumerate(p)}, repairs=repairs)
        assert solve(found).expected_cost == pytest.approx(wanted, abs=1e-9)
        assert solve(found, depth=1).expected_cost == pytest.approx(wanted, abs=1e-9)
