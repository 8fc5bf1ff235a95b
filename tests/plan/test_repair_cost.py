"""Repair and see against every order of every set of repairs, and the ending at its price."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diag.plan.repair_cost import RepairCosts

COUNT = 4
chances = st.floats(0.01, 1.0)


def brute_force(p: list[float], cost: list[float], success: list[float], ending: float) -> float:
    """The cheapest of all sequences of repairs followed by the ending."""
    best = ending
    for length in range(1, COUNT + 1):
        for order in itertools.permutations(range(COUNT), length):
            left, spent = 1.0, 0.0
            for i in order:
                spent += cost[i] * left
                left -= p[i] * success[i]
            best = min(best, spent + left * ending)
    return best


def costs_of(cost: list[float], success: list[float], ending: float) -> RepairCosts:
    names = tuple(f"c{i}" for i in range(len(cost)))
    return RepairCosts(names, np.array(cost), np.array(success), ending, np.array(cost), np.zeros(len(cost)))


@settings(max_examples=150, deadline=None, derandomize=True, database=None)
@given(
    st.lists(chances, min_size=COUNT, max_size=COUNT),
    st.lists(st.floats(1.0, 100.0), min_size=COUNT, max_size=COUNT),
    st.lists(chances, min_size=COUNT, max_size=COUNT),
    st.floats(10.0, 500.0),
)
def test_no_order_of_repairs_is_cheaper(weights, cost, success, ending):
    p = np.array(weights) / sum(weights)
    repairs = costs_of(cost, success, ending)
    wanted = brute_force(p.tolist(), cost, success, ending)
    assert repairs.expected(p) == pytest.approx(wanted, rel=1e-9)
    assert repairs.expected(0.3 * p) == pytest.approx(0.3 * wanted, rel=1e-9)  # with the weight of a row
    helped = sum(helps for _, helps in repairs.sequence(p))
    assert 0 <= helped <= 1 + 1e-9
    assert min(repairs.first(p, i) for i in range(COUNT)) >= wanted - 1e-9


def test_by_hand():
    """c0: 0.8 for 10, c1: 0.2 for 40; both certain. First c0: 10 + 0.2 x 40 = 18; ended at 15 it is 10 + 0.2 x 15."""
    p = np.array([0.8, 0.2])
    assert costs_of([10.0, 40.0], [1.0, 1.0], 1000.0).expected(p) == pytest.approx(18.0)
    assert costs_of([10.0, 40.0], [1.0, 1.0], 15.0).expected(p) == pytest.approx(13.0)
    assert costs_of([10.0, 40.0], [1.0, 1.0], 15.0).sequence(p) == [(0, pytest.approx(0.8))]


def test_an_outcome_saves_what_it_takes_off():
    """A sure answer between two equal causes, 10 and 30 to repair: before 10 + 0.5 x 30 = 25, then 5 + 15 = 20."""
    repairs = costs_of([10.0, 30.0], [1.0, 1.0], 1000.0)
    assert repairs.saved(np.array([0.5, 0.5]), np.diag([0.5, 0.5])) == pytest.approx(5.0)
    assert repairs.saved(np.array([0.5, 0.5]), np.full((2, 2), 0.25)) == 0.0


def test_a_cause_without_a_repair_comes_to_the_ending():
    assert costs_of([np.inf, 10.0], [0.0, 1.0], 100.0).expected(np.array([0.4, 0.6])) == pytest.approx(10 + 40)
