"""The solver against plain dynamic programming on random problems, and what it says of itself."""

import random
from functools import cache
from math import inf

import pytest

from diag.plan.small_problem import SmallProblem, SmallRepair, SmallStep, SmallTest
from diag.plan.small_solver import solve

PROBLEMS = 200
AT_LEAST_PROVED = 190


def random_problem(rng: random.Random) -> SmallProblem:
    """One to six causes, up to six tests (sharp or not), repairs, access steps; some are free of cost."""
    n = rng.randint(1, 6)
    raw = [rng.random() + 0.01 for _ in range(n)]
    causes = {f"c{i}": x / sum(raw) for i, x in enumerate(raw)}
    steps = {}
    for i in range(rng.randint(0, 3)):
        needs = tuple(s for s in steps if rng.random() < 0.4)
        steps[f"s{i}"] = SmallStep(rng.choice([0.0, rng.uniform(0.1, 3)]), rng.uniform(0, 1), needs)
    access = lambda: tuple(s for s in steps if rng.random() < 0.4)  # noqa: E731
    tests = {}
    for i in range(rng.randint(0, 6)):
        sharp = rng.random() < 0.7
        yes = tuple(float(rng.random() < 0.5) if sharp else rng.random() for _ in range(n))
        cost = rng.choice([0.0, rng.uniform(0.1, 3), rng.uniform(0.1, 3)])
        tests[f"t{i}"] = SmallTest(cost, {"no": tuple(1 - p for p in yes), "yes": yes}, access())
    aim = rng.choice(["find", "mend"])
    repairs = {}
    for i in range(rng.randint(1, 4) if aim == "mend" else 0):
        mends = tuple(rng.choice([0.0, 0.0, 1.0, rng.random()]) for _ in range(n))
        repairs[f"r{i}"] = SmallRepair(rng.uniform(0.5, 6), mends, access())
    return SmallProblem(aim, causes, tests, repairs, steps, rng.uniform(2, 20) if aim == "mend" else None)


def brute_force(problem: SmallProblem) -> float:
    """Expected cost by recursion over what was done, without bounds, in probabilities given the path."""
    prior = list(problem.causes.values())

    def closure(wanted, held):
        todo = set()
        ahead = list(wanted)
        while ahead:
            step = ahead.pop()
            if step not in held | todo:
                todo.add(step)
                ahead += problem.access[step].needs
        return todo

    def belief(results, failed):
        w = prior
        for test, result in results:
            w = [x * p for x, p in zip(w, problem.tests[test].results[result], strict=True)]
        for repair in failed:
            w = [x * (1 - p) for x, p in zip(w, problem.repairs[repair].mends, strict=True)]
        return w

    @cache
    def value(results, failed, held):
        w = belief(results, failed)
        total = sum(w)
        alive = [i for i, x in enumerate(w) if x > 0]
        options = [problem.ending] if problem.ending is not None else []
        for name, test in problem.tests.items():
            same = all(len({p[i] for i in alive}) == 1 for p in test.results.values())
            if name in {t for t, _ in results} or same:
                continue
            todo = closure(test.access, held)
            cost = test.cost + sum(problem.access[s].cost + problem.access[s].undo for s in todo)
            for result, chances in test.results.items():
                p = sum(x * q for x, q in zip(w, chances, strict=True)) / total
                if p > 0:
                    cost += p * value(results | {(name, result)}, failed, held | todo)
            options.append(cost)
        for name, repair in problem.repairs.items():
            p = sum(x * q for x, q in zip(w, repair.mends, strict=True)) / total
            if name in failed or p == 0:
                continue
            todo = closure(repair.access, held)
            cost = repair.cost + sum(problem.access[s].cost + problem.access[s].undo for s in todo)
            if p < 1 - 1e-15:
                cost += (1 - p) * value(results, failed | {name}, held | todo)
            options.append(cost)
        return min(options, default=0.0 if problem.aim == "find" else inf)

    return value(frozenset(), frozenset(), frozenset())


def test_equal_to_brute_force_wherever_proved_and_nearly_always_proved():
    rng = random.Random(20)
    proved = 0
    for _ in range(PROBLEMS):
        problem = random_problem(rng)
        answer, wanted = solve(problem), brute_force(problem)
        if answer.proved:
            proved += 1
            assert answer.expected_cost == pytest.approx(wanted, abs=1e-9)
        assert answer.lower_bound <= wanted + 1e-9 <= answer.expected_cost + 2e-9
        for depth in (1, 2):
            short = solve(problem, depth)
            assert short.expected_cost >= wanted - 1e-9
            assert short.lower_bound <= wanted + 1e-9
            if short.proved:
                assert short.expected_cost == pytest.approx(wanted, abs=1e-9)
    assert proved >= AT_LEAST_PROVED


def test_a_search_cut_short_claims_nothing():
    rng = random.Random(3)
    cut = [answer for _ in range(60) if not (answer := solve(random_problem(rng), limit=3)).proved]
    assert cut
    assert all(answer.lower_bound <= answer.expected_cost + 1e-12 for answer in cut)


def test_nothing_to_choose_costs_nothing():
    answer = solve(SmallProblem("find", {"a": 1.0}))
    assert (answer.expected_cost, answer.proved, answer.plan.act) == (0.0, True, "")
