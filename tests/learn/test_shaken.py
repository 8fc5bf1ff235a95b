"""Judgements moved within their ranges: what moves, what stays, and that a base comes of it."""

from dataclasses import replace

import numpy as np
import pytest
from oracle.knowledge import HERE, base, cause, fact, finding

from diag.knowledge.types import Number
from diag.knowledge.validate import validate
from diag.knowledge.walk import numbers
from diag.learn.shaken import shaken
from diag.session import load_knowledge


@pytest.fixture(scope="module")
def bases():
    before = load_knowledge()
    return before, shaken(before, np.random.default_rng(7))


def test_every_judgement_moves_within_its_range_and_nothing_else_moves(bases):
    before, after = ([number for number, _ in numbers(base)] for base in bases)
    moved = 0
    for was, now in zip(before, after, strict=True):
        assert (was.grade, was.low, was.high, was.mark) == (now.grade, now.low, now.high, now.mark)
        if was.grade == "judgement" and was.value > 0 and was.low < was.high:
            moved += was.value != now.value
            assert was.low * (1 - 1e-12) <= now.value <= was.high * (1 + 1e-12)
        else:
            assert was == now
    assert moved > 0.95 * sum(number.grade == "judgement" for number in before)


def test_a_sound_base_stays_sound(bases):
    assert [problem for problem in validate(bases[1]) if problem.severity == "error"] == []


def test_the_same_seed_gives_the_same_base(bases):
    again = shaken(bases[0], np.random.default_rng(7))
    assert again == bases[1]
    assert shaken(bases[0], np.random.default_rng(8)) != again


def test_the_value_is_the_median_and_each_half_is_log_uniform():
    # Of the draws between the value 0.2 and 0.8, a quarter of all lies below 0.4, which is half way in logarithms;
    # likewise 0.1 between 0.05 and 0.2. Five standard deviations of a share of 4000 draws: 0.04.
    weight = Number(0.2, "judgement", HERE, 0.05, 0.8)
    many = base([replace(cause(f"cause{i}", 1.0), weight=weight) for i in range(4000)], [])
    drawn = np.array([c.weight.value for c in shaken(many, np.random.default_rng(3)).causes.values()])
    for share, below in ((0.25, 0.1), (0.5, 0.2), (0.75, 0.4)):
        assert np.mean(drawn < below) == pytest.approx(share, abs=0.04)


def test_the_states_of_one_distribution_stay_together_below_one():
    high = Number(0.45, "judgement", HERE, 0.4, 0.99)
    odd = replace(finding("odd", {}, ("no", "some", "much")), false_alarm={"some": high, "much": high})
    factors = replace(fact("work", "work", 0.2, {}), factors={"a": high, "b": high})
    for seed in range(20):
        after = shaken(base([], [odd], history=[factors]), np.random.default_rng(seed))
        assert sum(number.value for number in after.findings["odd"].false_alarm.values()) <= 1.0
        assert all(0.4 <= number.value <= 0.99 for number in after.findings["odd"].false_alarm.values())
        # Factors are no distribution: each stays in its own range.
        assert all(0.4 <= number.value <= 0.99 for number in after.history["work"].factors.values())
