"""Compressions of all cylinders: invented readings, and the density they come from by a plain sum."""

from __future__ import annotations

from math import log

import numpy as np
import pytest
from oracle.readings import read
from scipy import stats

from diag.knowledge.chosen import load_knowledge
from diag.knowledge.types import Finding
from diag.measure.channel import pattern_samples
from diag.measure.compression import Level, pattern_likelihoods
from diag.measure.forms import read_text
from diag.measure.likelihood import Taken, told_by
from diag.measure.misread import Misread
from diag.measure.vehicle import Vehicle
from diag.network.information import expected_information_gain

EVEN, ONE, TWO, ALL = range(4)
AIR = 101.325


@pytest.fixture(scope="module")
def compression() -> Finding:
    return next(f for f in load_knowledge().findings.values() if f.reading and f.reading.form == "cylinders")


def told(finding: Finding, text: str, vehicle: Vehicle | None = None) -> np.ndarray:
    vehicle = vehicle or Vehicle()
    reading = read_text(text, finding, vehicle)
    assert not isinstance(reading, Misread), reading
    return told_by(finding, [Taken(reading, "")], vehicle).table


@pytest.mark.parametrize(
    ("text", "state"),
    [
        ("12.1 11.8 12.3 12 bar", EVEN),
        ("12.1 11.8 5 12 bar", ONE),
        ("8.1 8.0 4.2 4.4 bar", TWO),  # the pair stands beside each other
        ("8.1 4.2 8.0 4.4 bar", ONE),  # two low, not beside each other: no gasket bridge between them
        ("8.1 4.2 / 4.4 8.0 bar", ONE),  # the last of one bank and the first of the other are no neighbours
        ("4.1 4.0 4.2 4.1 bar", ALL),
        ("58 59 61 60 psi", ALL),
        ("24 24.5 23.8 24.1 bar", EVEN),  # a diesel engine
    ],
)
def test_invented_patterns(compression: Finding, text: str, state: int) -> None:
    assert told(compression, text).argmax() == state


def test_the_adjacent_pair_is_far_likelier_than_one(compression: Finding) -> None:
    table = told(compression, "8.1 8.0 4.2 4.4 bar")
    assert table[TWO] > 100 * table[ONE]


def test_height_lowers_all_and_is_allowed_for(compression: Finding) -> None:
    """At 3000 m the air is 0.69 of that at the sea: 7 bar mean less there."""
    here, above = (told(compression, "7 7.1 7 6.9 bar", Vehicle({"altitude": m})) for m in (0.0, 3000.0))
    assert above[ALL] / above[EVEN] < here[ALL] / here[EVEN] / 2


def test_dry_bores_after_months_excuse_a_low_engine(compression: Finding) -> None:
    plain, dry = told(compression, "7 7.1 7 6.9 bar"), told(compression, "7 7.1 7 6.9 bar, after months")
    assert dry[ALL] / dry[EVEN] < plain[ALL] / plain[EVEN]


def test_the_makers_figure_tells_all_low_from_even(compression: Finding) -> None:
    low, good = (told(compression, "8 8.1 8 7.9 bar", Vehicle(limits={compression.id: own})) for own in (13.0, 8.2))
    assert low.argmax() == ALL
    assert good.argmax() == EVEN


def test_a_gauge_that_is_off_leaves_the_pattern(compression: Finding) -> None:
    """Every figure 15 per cent lower: the same cylinders, the same ratios."""
    right, low = told(compression, "12 12 6 6 bar"), told(compression, "10.2 10.2 5.1 5.1 bar")
    assert low == pytest.approx(right, abs=0.02)


def test_nonsense_is_refused(compression: Finding) -> None:
    for text in ("400 400 400 400 bar", "8 bar", "8 8 8 -3 bar", "8 8 8 mm", "8,1 8,0 bar"):
        assert isinstance(read_text(text, compression, Vehicle()), Misread)
    four = Vehicle({"cylinders": 4.0})
    wrong = read_text("8 8 8 bar", compression, four)
    assert isinstance(wrong, Misread)
    assert "4 cylinders" in wrong.hint


def plain_sum(logs: np.ndarray, deviation: float, finding: Finding) -> np.ndarray:
    """The four densities by sums over a grid of levels and of shares, written from the sentence that defines them."""
    f = {name: number.value for name, number in finding.reading.figures.items()}
    levels = np.linspace(log(1.5), log(60), 1501)
    width = log(f["level_factor"])
    density = (1 - f["share_diesel"]) * stats.norm.pdf(levels, log(f["petrol"]), width)
    density = density + f["share_diesel"] * stats.norm.pdf(levels, log(f["diesel"]), width)
    shares = f["low_least"] + (f["low_most"] - f["low_least"]) * (np.arange(800) + 0.5) / 800

    def good(u, m):
        return stats.norm.pdf(u, m, deviation)

    def low(u, m):
        return np.array([stats.norm.pdf(u, one + np.log(shares), deviation).mean() for one in m])

    def integral(places, at=levels, weight=density):
        product = np.ones(len(at))
        for place, u in enumerate(logs):
            product = product * (low(u, at) if place in places else good(u, at))
        return np.trapezoid(product * weight, at)

    size = len(logs)
    pairs = [(a, a + 1) for a in range(size - 1)]
    far = [(a, b) for a in range(size) for b in range(a + 2, size)]
    one = 0.9 * np.mean([integral((a,)) for a in range(size)]) + 0.1 * np.mean([integral(pair) for pair in far])
    all_low = [
        integral((), levels + np.log(share)) for share in np.linspace(f["all_low_least"], f["all_low_most"], 201)
    ]
    return np.array([integral(()), one, np.mean([integral(pair) for pair in pairs]), np.mean(all_low)])


@pytest.mark.parametrize("values", [(12, 11.5, 12.4), (12, 6, 11.5), (11, 5.5, 6.0), (5, 5.2, 4.9)])
def test_pattern_densities_against_a_plain_sum(compression: Finding, values: tuple[float, ...]) -> None:
    logs = np.log(np.array(values))
    scatter, uneven = 0.02, compression.reading.figures["unevenness"].value
    found = pattern_likelihoods(logs, scatter**2, [3], compression.reading.figures, Level(None, AIR))
    expected = plain_sum(logs, np.hypot(scatter, uneven), compression)
    assert found / found.max() == pytest.approx(expected / expected.max(), rel=0.01, abs=1e-6)


def test_samples_of_a_pattern_give_the_gain_of_many_more(compression: Finding) -> None:
    """Within 1e-3 bit of six times as many, at the shares of states that come."""
    weight = np.array([0.85, 0.05, 0.06, 0.04])[:, None]
    level = Level(None, AIR, 0.05)
    few, many = (
        expected_information_gain(weight * pattern_samples(compression.reading, level, 4, n)) for n in (2000, 12_000)
    )
    assert few == pytest.approx(many, abs=1e-3)


def test_two_readings_of_all_cylinders_agree_better_than_one(compression: Finding) -> None:
    once = told_by(compression, [read((8.1, 8.0, 6.6, 8.0), "a")], Vehicle()).table.max(1)
    twice = told_by(compression, [read((8.1, 8.0, 6.6, 8.0), "a")] * 2, Vehicle()).table.max(1)
    assert twice[ONE] / twice[EVEN] > once[ONE] / once[EVEN]
