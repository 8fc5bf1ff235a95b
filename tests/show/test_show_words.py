"""Figures in words."""

from __future__ import annotations

import pytest

from diag.knowledge.types import Number
from diag.show.words import MUCH, SOME, chance, duration, graded, likelihood, money, odds, tells
from diag.text import Mark

HERE = Mark("x.yaml", 1, 1)


def test_thresholds_of_telling():
    assert [tells(MUCH), tells(SOME), tells(SOME - 1e-9), tells(0.0)] == [
        "tells much",
        "tells some",
        "tells little",
        "tells little",
    ]


@pytest.mark.parametrize(
    ("p", "words"),
    [
        (1.0, "nearly always"),
        (0.97, "more than 9 in 10"),
        (0.9, "about 9 in 10"),
        (0.31, "about 3 in 10"),
        (0.08, "about 1 in 10"),
        (0.05, "about 1 in 20"),
        (0.02, "about 1 in 50"),
        (0.01, "about 1 in 100"),
        (0.001, "less than 1 in 100"),
        (0.0, "less than 1 in 100"),
    ],
)
def test_chance_in_counts(p, words):
    assert chance(p) == words


@pytest.mark.parametrize(
    ("p", "words"),
    [
        (0.8, "4 to 1 for"),
        (0.2, "4 to 1 against"),
        (0.5, "evens"),
        (0.6, "3 to 2 for"),
        (1.0, "over 50 to 1 for"),
        (0.0, "over 50 to 1 against"),
    ],
)
def test_odds_in_whole_numbers(p, words):
    assert odds(p) == words


def test_likelihood_falls_with_the_probability():
    steps = [likelihood(p) for p in (0.97, 0.85, 0.65, 0.5, 0.2, 0.01)]
    assert steps == ["almost certain", "very likely", "likely", "as likely as not", "possible", "unlikely"]


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        (0, "no time of its own"),
        (1, "1 minute"),
        (7.4, "7 minutes"),
        (17, "15 minutes"),
        (62, "60 minutes"),
        (95, "1 1/2 hours"),
        (121, "2 hours"),
        (150, "2 1/2 hours"),
    ],
)
def test_duration(minutes, words):
    assert duration(minutes) == words


@pytest.mark.parametrize(
    ("amount", "words"),
    [
        (0, "nothing to buy"),
        (3.2, "about 3 to spend"),
        (43, "about 45 to spend"),
        (127, "about 130 to spend"),
    ],
)
def test_money(amount, words):
    assert money(amount) == words


def test_graded_number_tells_range_grade_and_source():
    assert graded(Number(0.85, "judgement", HERE, 0.7, 0.95)) == "0.85 (0.7 to 0.95), an estimate"
    assert graded(Number(75, "published", HERE, reference="book")) == "75, seen in a published source: book"
