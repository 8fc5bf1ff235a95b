"""Conjugate updating.

Sources: Gelman et al. 2013, Bayesian Data Analysis, 3rd ed., pp. 37-39 (placenta previa: 437 girls, 543 boys; table
2.1) and section 3.4 (survey counts 727, 583, 137), figures with more digits worked out anew; the public tests of
github.com/avehtari/BDA_course_Aalto, assignment 2 (Beta priors with short data).
"""

import pytest

from diag.knowledge.types import Number
from diag.learn.posterior import Beta, beta_of, share_of, size_of
from diag.text import Mark

HERE = Mark("test.yaml", 1, 1)


def test_girls_and_boys_with_a_flat_prior():
    posterior = Beta(1, 1).seen(437, 543)
    assert posterior == Beta(438, 544)
    assert posterior.mean == pytest.approx(0.4460285132, abs=1e-10)
    assert posterior.deviation == pytest.approx(0.0158543433, abs=1e-10)
    assert posterior.quantile(0.5) == pytest.approx(0.4459918579, abs=1e-10)
    assert posterior.interval(0.95) == pytest.approx((0.41506549, 0.47719977), abs=1e-8)
    assert posterior.below(0.485) == pytest.approx(0.99282599, abs=1e-8)


@pytest.mark.parametrize(
    ("mean", "size", "median", "low", "high"),
    [
        (0.5, 2, 0.446, 0.415, 0.477),
        (0.485, 2, 0.446, 0.415, 0.477),
        (0.485, 5, 0.446, 0.415, 0.477),
        (0.485, 10, 0.446, 0.415, 0.477),
        (0.485, 20, 0.447, 0.416, 0.478),
        (0.485, 100, 0.450, 0.420, 0.479),
        (0.485, 200, 0.453, 0.424, 0.481),
    ],
)
def test_the_table_of_priors_of_different_strength(mean, size, median, low, high):
    posterior = beta_of(mean, size).seen(437, 543)
    assert posterior.quantile(0.5) == pytest.approx(median, abs=5.1e-4)
    assert posterior.interval(0.95) == pytest.approx((low, high), abs=5.1e-4)


def test_three_answers_of_a_survey():
    counts = [728, 584, 138]
    assert [share_of(counts, i).mean for i in range(3)] == pytest.approx([0.502069, 0.402759, 0.095172], abs=1e-6)
    # Given that it is one of the first two, the first share is Beta(728, 584).
    assert 1 - Beta(728, 584).below(0.5) == pytest.approx(0.9999656600, abs=1e-10)


@pytest.mark.parametrize(
    ("prior", "data", "mean", "low", "high"),
    [
        ((2, 4), "011011", 0.5, 0.2712499, 0.7287501),
        ((3, 5), "01101101", 0.5, 0.2999865, 0.7000135),
        ((3, 5), "0110110111", 0.5555556, 0.3640088, 0.7398856),
    ],
)
def test_short_data(prior, data, mean, low, high):
    posterior = Beta(*prior).seen(data.count("1"), data.count("0"))
    assert posterior.mean == pytest.approx(mean, abs=1e-7)
    assert posterior.interval(0.9) == pytest.approx((low, high), abs=1e-7)


def test_what_a_number_is_worth_follows_from_its_range():
    """0.85 (0.7..0.95): deviation 0.25 / 4, so 0.85 0.15 / 0.0625^2 - 1 = 31.64 cases."""
    assert size_of(Number(0.85, "judgement", HERE, 0.7, 0.95), 200) == pytest.approx(31.64)
    assert beta_of(0.85, 31.64).deviation == pytest.approx(0.0625, rel=1e-4)
    assert size_of(Number(0.5, "judgement", HERE, 0.0, 1.0), 200) == 3
    assert size_of(Number(0.99, "judgement", HERE, 0.0, 1.0), 200) == 2
    assert size_of(Number(0.5, "published", HERE, reference="somewhere"), 200) == 200
