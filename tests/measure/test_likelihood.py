"""Readings as evidence, against integrals by another library and against a simulation that knows nothing of them."""

from __future__ import annotations

from math import exp, log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from oracle.readings import lognormal, measured_finding, normal, read, uniform
from scipy import integrate, stats

from diag.knowledge.types import Finding
from diag.measure.channel import channel, intervals
from diag.measure.errors import NODES, WITHIN_NODE, node_weights
from diag.measure.likelihood import BLUNDER, Taken, told_by
from diag.measure.vehicle import Vehicle
from diag.network.information import expected_information_gain

NOWHERE = Vehicle()
PLAIN = measured_finding("plain", {"good": normal(10, 1), "bad": uniform(2, 8), "worse": lognormal(3, 1.6)})
RELATIVE = measured_finding(
    "relative", {"good": normal(10, 1), "bad": uniform(2, 8), "worse": lognormal(3, 1.6)}, 0.06, 0.03, relative=True
)
DENSITIES = {
    "good": lambda x: stats.norm.pdf(x, 10, 1),
    "bad": lambda x: stats.uniform.pdf(x, 2, 6),
    "worse": lambda x: stats.lognorm.pdf(x, log(1.6), scale=3),
}


def marginal(finding: Finding, taken: list[Taken], vehicle: Vehicle = NOWHERE) -> np.ndarray:
    """Over the states, errors averaged over, blunders taken out, the greatest 1."""
    told = told_by(finding, taken, vehicle)
    table = (told.table - BLUNDER) / (1 - BLUNDER)
    for _ in told.instruments:
        table = table @ node_weights()
    return np.asarray(table / table.max())


def by_integral(finding: Finding, values: list[float], shared: bool) -> np.ndarray:
    """The same by scipy: over the true value and, where shared, over the error."""
    model = finding.reading
    error, scatter = model.error.value, model.scatter.value
    scale = log if model.relative else float

    def given_true(x: float, z: float) -> float:
        around = scale(x) + z * error
        width = scatter if shared else np.hypot(scatter, error)
        return float(np.prod([stats.norm.pdf(scale(v), around, width) for v in values]))

    def weigh(density) -> float:
        points = [scale(v) for v in values]
        low, high = min(points) - 6 * (error + scatter), max(points) + 6 * (error + scatter)
        ends = (exp(low), exp(high)) if model.relative else (low, high)
        if not shared:
            return integrate.quad(lambda x: density(x) * given_true(x, 0.0), *ends, points=[2, 8], limit=400)[0]
        xs = np.linspace(max(*[ends[0]], 1e-6) if model.relative else ends[0], ends[1], 4001)
        zs = np.linspace(-5, 5, 401)
        logs = np.log(xs) if model.relative else xs
        inner = np.ones((len(xs), len(zs)))
        for v in values:
            inner *= stats.norm.pdf(scale(v), logs[:, None] + zs * error, scatter)
        return float(integrate.trapezoid(integrate.trapezoid(inner * stats.norm.pdf(zs), zs) * density(xs), xs))

    told = np.array([weigh(density) for density in DENSITIES.values()])
    return told / told.max()


@pytest.mark.parametrize("finding", [PLAIN, RELATIVE], ids=["plain", "relative"])
@pytest.mark.parametrize("values", [[9.5], [7.8], [3.0], [8.6, 8.2]])
def test_readings_without_a_name_have_errors_of_their_own(finding: Finding, values: list[float]) -> None:
    found = marginal(finding, [read(v) for v in values])
    assert found == pytest.approx(by_integral(finding, values, shared=False), rel=2e-3, abs=1e-6)


@pytest.mark.parametrize("finding", [PLAIN, RELATIVE], ids=["plain", "relative"])
@pytest.mark.parametrize("values", [[9.5], [7.8], [3.0], [8.6, 8.2], [7.0, 7.1, 6.9]])
def test_a_named_instrument_has_one_error(finding: Finding, values: list[float]) -> None:
    """The nodes of the error cost less than a per cent of any ratio."""
    found = marginal(finding, [read(v, "old gauge") for v in values])
    assert found == pytest.approx(by_integral(finding, values, shared=True), rel=1e-2, abs=1e-6)


def test_the_nodes_of_the_error_are_a_standard_normal() -> None:
    at = np.linspace(-2.5, 2.5, 301)
    together = stats.norm.pdf(at[:, None], NODES, np.sqrt(WITHIN_NODE)) @ node_weights()
    assert together == pytest.approx(stats.norm.pdf(at), rel=5e-3)


@given(st.floats(0.5, 14.0))
@settings(deadline=None)
def test_units_change_nothing(bar: float) -> None:
    from diag.measure.forms import read_text

    one, two = (
        marginal(PLAIN, [Taken(read_text(text, PLAIN, NOWHERE), "")])
        for text in (f"{bar!r} bar", f"{bar * 14.503773773020923:.12f} psi")
    )
    assert one == pytest.approx(two, rel=1e-6)


@pytest.mark.parametrize("finding", [PLAIN, RELATIVE], ids=["plain", "relative"])
def test_likelihoods_are_proper(finding: Finding) -> None:
    """Over all that may be read each state's chances add up to one, and agree with what a reading tells."""
    rows = intervals(finding, 1.0, False, 400)
    assert rows.min() >= 0
    assert rows.sum(1) == pytest.approx(1, abs=1e-9)
    assert channel(finding, NOWHERE).sum(1) == pytest.approx(1, abs=1e-9)


ONE_SIDED = measured_finding(
    "thin", {"no": uniform(0, 1), "yes": lognormal(2, 1.7, least=1)}, 0.05, 0.1, one_sided="high"
)
LOOSE = measured_finding("loose", {"no": uniform(0, 1), "yes": lognormal(2, 1.7, least=1)}, 0.05, 0.1)


@given(st.floats(-0.3, 0.5), st.floats(0.01, 0.3), st.floats(0.01, 0.3))
@settings(deadline=None)
def test_far_on_the_good_side_never_raises_the_fault(value: float, error: float, scatter: float) -> None:
    finding = measured_finding(
        "thin", {"no": uniform(0, 1), "yes": lognormal(2, 1.7, least=1)}, error, scatter, one_sided="high"
    )
    for name in ("", "a"):
        sound, fault = marginal(finding, [read(value, name)])
        assert fault <= sound


def test_without_that_it_would_be_judged_by_its_height() -> None:
    """The same far good figure, told twice as far: one-sided says the same, else it changes."""
    assert marginal(ONE_SIDED, [read(-0.2)]) == pytest.approx(marginal(ONE_SIDED, [read(0.3)]))
    assert marginal(LOOSE, [read(0.9)])[1] != pytest.approx(marginal(LOOSE, [read(0.3)])[1], rel=0.1)


def test_a_reading_at_the_stop_says_at_least() -> None:
    finding = measured_finding("gauge", {"good": normal(1, 0.1), "bad": uniform(1.3, 4)}, 0.05, 0.05, stop=1.6)
    at_stop, bound = marginal(finding, [read(1.6)]), marginal(finding, [read(1.6, bound="over")])
    assert at_stop == pytest.approx(bound)
    xs = np.linspace(0.3, 4.2, 20001)
    beyond = stats.norm.sf(1.6, xs, np.hypot(0.05, 0.05))
    expected = [integrate.trapezoid(beyond * d(xs), xs) for d in (stats.norm(1, 0.1).pdf, stats.uniform(1.3, 2.7).pdf)]
    assert at_stop[0] / at_stop[1] == pytest.approx(expected[0] / expected[1], rel=1e-2, abs=1e-8)


@given(st.floats(0.05, 2.0), st.floats(1.05, 2.0), st.floats(0.05, 0.95))
@settings(max_examples=40, deadline=None)
def test_more_instrument_error_never_gives_more_information(error: float, more: float, prior: float) -> None:
    values = {"good": normal(10, 1), "bad": uniform(2, 8)}
    weight = np.array([prior, 1 - prior])[:, None]
    for relative in (False, True):
        by = 0.1 if relative else 1.0
        small, large = (
            measured_finding("x", values, error * factor * by, 0.2 * by, relative=relative) for factor in (1.0, more)
        )
        gains = [expected_information_gain(weight * intervals(f, 1.0, False, 400)) for f in (small, large)]
        assert gains[1] <= gains[0] + 2e-4


def simulated_gain(finding: Finding, names: tuple[str, str], size: int = 2500) -> tuple[float, float]:
    """Mean of log2 posterior / prior of the true state over readings drawn by other code, and its error."""
    random = np.random.default_rng(7)
    error, scatter = finding.reading.error.value, finding.reading.scatter.value
    state = random.integers(0, 2, size)
    true = np.where(state == 0, random.normal(10, 1, size), random.uniform(2, 8, size))
    z = random.normal(size=(size, 2))
    shift = z[:, [0, 0]] if names[0] and names[0] == names[1] else z
    values = true[:, None] + error * shift + scatter * random.normal(size=(size, 2))
    bits = []
    for s, pair in zip(state, values, strict=True):
        told = marginal(finding, [read(v, n) for v, n in zip(pair, names, strict=True)])
        bits.append(np.log2(told[s] / told.sum() * 2))
    return float(np.mean(bits)), float(np.std(bits) / np.sqrt(size))


def test_two_readings_by_one_instrument_tell_less_than_two_by_two() -> None:
    """Invented: a gauge that may be 1.5 bar off, 0.1 bar of scatter."""
    finding = measured_finding("x", {"good": normal(10, 1), "bad": uniform(2, 8)}, 1.5, 0.1)
    one, one_off = simulated_gain(finding, ("a", "a"))
    two, two_off = simulated_gain(finding, ("", ""))
    single = expected_information_gain(np.full((2, 1), 0.5) * intervals(finding, 1.0, False, 400))
    assert two - one > 2 * (one_off + two_off)
    assert one == pytest.approx(single, abs=4 * one_off)  # the re-test by the same gauge tells next to nothing more


def test_readings_by_two_names_are_readings_with_errors_of_their_own() -> None:
    for pair in ([9.5, 8.0], [8.2, 8.6], [5.0, 6.5]):
        named = marginal(PLAIN, [read(v, n) for v, n in zip(pair, "ab", strict=True)])
        assert named == pytest.approx(marginal(PLAIN, [read(v) for v in pair]), rel=1e-2, abs=1e-6)


def test_a_limit_of_the_vehicles_own_wins_and_tells_more() -> None:
    finding = measured_finding(
        "flat", {"no": uniform(0, 1), "yes": lognormal(1.8, 1.7, least=1)}, 0.005, 0.01, limit=0.1, limit_factor=1.4
    )
    own = Vehicle(limits={"flat": 0.05})
    general, told, said = (
        marginal(finding, [read(0.08)]),
        marginal(finding, [read(0.08)], own),
        marginal(finding, [read(0.08, limit=0.05)]),
    )
    assert general[1] < general[0]  # 0.08 is within 0.10
    assert told[1] > told[0]  # and beyond 0.05
    assert said == pytest.approx(told)


def test_what_a_person_says_beside_the_figure() -> None:
    finding = measured_finding("x", {"no": normal(5, 2), "here": normal(40, 10), "there": normal(40, 10)}, said=0.9)
    told = told_by(finding, [read(45.0, said="there")], NOWHERE).table
    assert told[2] / told[1] == pytest.approx(0.9 / 0.05)


def test_a_reading_that_nothing_explains_tells_nothing() -> None:
    assert (
        told_by(measured_finding("x", {"a": uniform(0, 1), "b": uniform(1, 2)}), [read(900.0)], NOWHERE).table.min()
        == 1
    )
