"""How large the tables of a base become: by hand on tiny bases, above the limit, and on the shipped one."""

from dataclasses import replace

import numpy as np
import pytest
from oracle.enumeration import Enumeration
from oracle.knowledge import base, cause, finding
from oracle.shipped_cases import shipped

from diag.network.case_network import compile_case
from diag.network.cliques import NOTHING, clique_sizes
from diag.network.plan import CELL_LIMIT
from diag.network.sampling import sample

ALARM = 0.999


def causes_that_all_show(count: int, alarm: float, findings: int = 1):
    shown = {f"f{i}": 0.5 for i in range(findings)}
    causes = [cause(f"cause{i}", 1.0, shows=shown) for i in range(count)]
    return base(causes, [finding(f, {"yes": alarm}) for f in shown])


def rows(knowledge, limit=CELL_LIMIT):
    sizes, problems = clique_sizes(knowledge, limit)
    return [(s.findings, s.answers, s.causes, s.tests) for s in sizes], problems


def test_sizes_by_hand():
    # Three causes that can be there or not. Nothing recorded: each by itself, 2 cells. "yes" to a noisy-OR of the three
    # ties them together, 2^3 cells; with a false alarm this high the drawn answer is yes.
    found, problems = rows(causes_that_all_show(3, ALARM))
    assert found == [(0, "drawn", 2, 2), (1, "drawn", 8, 8), (1, "odd", 8, 8)]
    assert problems == []


def test_a_no_ties_nothing_together():
    # P(no | causes) is a product of one factor a cause: 2 cells however many causes there are.
    found, _ = rows(causes_that_all_show(3, 1e-9))
    assert found == [(0, "drawn", 2, 2), (1, "drawn", 2, 2), (1, "odd", 8, 8)]


@pytest.mark.parametrize(("alarm", "severities"), [(ALARM, ["error", "warning"]), (1e-9, ["warning"])])
def test_above_the_limit_drawn_answers_are_an_error_and_odd_ones_a_warning(alarm, severities):
    found, problems = rows(causes_that_all_show(3, alarm), limit=4)
    assert sorted(problem.severity for problem in problems) == severities
    assert {problem.code for problem in problems} == {"clique-too-large"}
    assert all("limit is 4" in problem.message for problem in problems)
    assert found[-1][2] > 4


def test_the_problem_stands_at_an_entry_of_the_clique():
    knowledge = causes_that_all_show(3, ALARM)
    placed = {name: replace(entry, mark=replace(entry.mark, line=7)) for name, entry in knowledge.causes.items()}
    _, problems = rows(replace(knowledge, causes=placed), limit=4)
    assert {problem.mark.line for problem in problems} == {7}


def test_a_base_without_entries_has_no_table():
    assert rows(base([], [])) == ([(0, "drawn", 1, 1), (0, "odd", 1, 1)], [])


def test_the_shipped_base_stays_under_the_limit_and_is_measured_the_same_every_time():
    first, problems = rows(shipped())
    assert rows(shipped())[0] == first
    assert [problem for problem in problems if problem.severity == "error"] == []
    assert [(count, answers) for count, answers, *_ in first] == [
        *((count, "drawn") for count in (0, 10, 30, 60)),
        (60, "odd"),
    ]
    assert all(causes <= tests for _, _, causes, tests in first)


def test_drawn_vehicles_come_as_often_as_they_should():
    network = compile_case(causes_that_all_show(3, 0.1, findings=2), NOTHING).full_network()
    exact = Enumeration(network, {}).joint(["cause0", "f0", "f1"])
    random, draws = np.random.default_rng(5), 3000
    counts = np.zeros_like(exact)
    for _ in range(draws):
        drawn = sample(network, random)
        counts[drawn["cause0"], drawn["f0"], drawn["f1"]] += 1
    # Five standard deviations of a binomial count.
    assert np.all(np.abs(counts - draws * exact) <= 5 * np.sqrt(draws * exact * (1 - exact)))
