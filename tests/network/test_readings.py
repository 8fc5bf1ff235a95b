"""Readings in the network: shared errors against full enumeration, second looks, checks, and the gain of a figure."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from oracle.enumeration import mutual_information
from oracle.knowledge import base, cause, effect, look, seen
from oracle.readings import measured_finding, normal, read, uniform
from scipy import stats

from diag.knowledge.types import Knowledge
from diag.measure.errors import NODES, node_weights
from diag.measure.likelihood import Taken, told_by
from diag.measure.vehicle import Vehicle
from diag.network.case_network import TARGET, compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.inference import Inference
from diag.network.observations import Look, Observations
from diag.network.reading_gain import channels_of
from diag.network.readings import instrument_nodes

ONE = measured_finding("one", {"no": normal(10, 1), "yes": uniform(2, 8)}, 1.2, 0.3)
TWO = measured_finding("two", {"no": normal(10, 1), "some": uniform(5, 9), "much": uniform(1, 5)}, 1.2, 0.3)
YES = {"yes": {"yes": 0.8}}


def small_base() -> Knowledge:
    """Two causes, an effect, two findings read by the same kind of gauge."""
    worn = cause("worn", 3.0, {"weak": 0.9}, {"two": {"yes": {"some": 0.5, "much": 0.3}}})
    split = cause("split", 2.0, {}, {"one": YES})
    weak = effect("weak", {"yes": 0.05}, {}, {"one": {"yes": {"yes": 0.7}}, "two": {"yes": {"much": 0.6}}})
    return base([worn, split], [ONE, TWO], [weak], [], [], {})


def shared(name: str, taken: list[Taken]) -> Look:
    finding = {"one": ONE, "two": TWO}[name]
    told = told_by(finding, taken, Vehicle())
    table = told.table
    for _ in told.instruments:
        table = table @ node_weights()
    given_errors = tuple(told.table.ravel().tolist())
    return replace(look(name, tuple(table)), instruments=told.instruments, given_errors=given_errors)


def observed(*looks: Look, checks: dict | None = None) -> Observations:
    placed = (replace(one, entry=number) for number, one in enumerate(looks, start=1))
    return replace(seen(*placed), checks=checks or {})


def by_enumeration(knowledge: Knowledge, observations: Observations) -> np.ndarray:
    """P(C | e) by a sum over every state of every node and every error, the readings' tables looked up by hand."""
    plain = compile_case(knowledge, seen())
    network = plain.full_network()
    nodes = list(network)
    names = list(dict.fromkeys(n for told in observations.looks for n in told.instruments))
    weight = np.zeros(len(plain.states))
    for states in np.ndindex(*(network.card(node) for node in nodes)):
        of = dict(zip(nodes, states, strict=True))
        p = np.prod([network.table(n)[(*(of[q] for q in network[n].parents), of[n])] for n in nodes])
        errors = np.ones([len(NODES)] * len(names))
        for axis, name in enumerate(names):
            own = node_weights() * np.array(observations.checks.get(name, (1.0,) * len(NODES)))
            errors = errors * own.reshape([-1 if a == axis else 1 for a in range(len(names))])
        for told in observations.looks:
            table = np.array(told.given_errors).reshape(-1, *[len(NODES)] * len(told.instruments))[of[told.finding]]
            order = [names.index(n) for n in told.instruments]
            shape = [len(NODES) if a in order else 1 for a in range(len(names))]
            errors = errors * table.transpose(np.argsort(order)).reshape(shape)
        weight[of[TARGET]] += p * errors.sum()
    return weight / weight.sum()


CASES = {
    "two findings, one gauge": observed(shared("one", [read(7.6, "a")]), shared("two", [read(7.4, "a")])),
    "two findings, two gauges": observed(shared("one", [read(7.6, "a")]), shared("two", [read(7.4, "b")])),
    "a re-test by the same gauge": observed(shared("one", [read(7.6, "a"), read(7.7, "a")])),
    "one finding by two gauges": observed(
        shared("one", [read(7.6, "a"), read(9.0, "b")]), shared("two", [read(7.4, "b")])
    ),
    "a gauge checked and found low": observed(
        shared("one", [read(7.6, "a")]),
        shared("two", [read(7.4, "a")]),
        checks={"a": tuple(np.exp(-0.5 * ((NODES + 1.5) / 0.3) ** 2))},
    ),
}


@pytest.mark.parametrize("observations", CASES.values(), ids=CASES)
def test_shared_errors_are_exact(observations: Observations) -> None:
    """Invented readings against a sum over everything."""
    knowledge = small_base()
    found = Diagnosis(compile_case(knowledge, observations)).posterior
    assert found == pytest.approx(by_enumeration(knowledge, observations), abs=1e-10)


def test_a_reading_without_a_name_is_a_likelihood_of_the_look() -> None:
    """The same, with the error integrated out beforehand; a single named gauge differs by its nodes only."""
    knowledge = small_base()
    told = told_by(ONE, [read(7.6)], Vehicle())
    plain = Diagnosis(compile_case(knowledge, seen(look("one", tuple(told.table)))))
    named = Diagnosis(compile_case(knowledge, observed(shared("one", [read(7.6, "a")]))))
    assert plain.posterior == pytest.approx(named.posterior, abs=0.01)


def test_one_low_gauge_explains_two_low_readings() -> None:
    """Invented: two readings both a little low are less against the engine where one gauge took both."""
    knowledge = small_base()
    one, two = (
        Diagnosis(compile_case(knowledge, CASES[f"two findings, {kind}"])) for kind in ("one gauge", "two gauges")
    )
    assert one.effects()["weak"][1] < two.effects()["weak"][1]
    names = compile_case(knowledge, CASES["two findings, one gauge"])
    error = instrument_nodes(CASES["two findings, one gauge"])["a"]
    assert Inference(names.faults, names.likelihood).posterior(error) @ NODES < -0.2


def test_a_check_that_finds_the_gauge_low_takes_back_what_it_showed() -> None:
    knowledge = small_base()
    checked = Diagnosis(compile_case(knowledge, CASES["a gauge checked and found low"]))
    unchecked = Diagnosis(compile_case(knowledge, CASES["two findings, one gauge"]))
    assert checked.effects()["weak"][1] < unchecked.effects()["weak"][1]


def test_the_network_with_the_initiating_cause_says_the_same() -> None:
    for observations in CASES.values():
        case = compile_case(small_base(), observations)
        whole = Inference(case.full_network(), case.full_evidence()).posterior(TARGET)
        assert whole == pytest.approx(Diagnosis(case).posterior, abs=1e-10)


def test_a_reading_after_an_answer_is_a_second_look() -> None:
    case = compile_case(small_base(), observed(look("one", (1.0, 0.0)), shared("one", [read(4.0, "a")])))
    assert case.faults["one~look2~reading"].parents[0] == "one~look2"


def reading_gain_by_brute_force(joint: np.ndarray, values: list, error: float, scatter: float) -> float:
    """I(C; Y) by a sum over 60 000 thin slices of the reading; densities by scipy, no code under test."""
    ys = np.linspace(-10, 20, 60_001)
    width = np.hypot(error, scatter)
    rows = []
    for spread in values:
        told = {name: number.value for name, number in spread.numbers.items()}
        if spread.shape == "normal":
            rows.append(stats.norm.pdf(ys, told["middle"], np.hypot(told["spread"], width)))
        else:
            low, high = told["least"], told["greatest"]
            rows.append((stats.norm.cdf((high - ys) / width) - stats.norm.cdf((low - ys) / width)) / (high - low))
    density = np.array(rows) * (ys[1] - ys[0])
    seen_joint = joint @ density
    p, q = seen_joint.sum(1, keepdims=True), seen_joint.sum(0, keepdims=True)
    with np.errstate(divide="ignore", invalid="ignore"):
        terms = np.where(seen_joint > 0, seen_joint * np.log2(seen_joint / (p * q)), 0.0)
    return float(terms.sum())


@given(st.floats(0.1, 3.0), st.floats(0.1, 1.5), st.floats(0.2, 6.0))
@settings(max_examples=25, deadline=None)
def test_the_gain_of_a_reading_is_that_over_its_distribution(error: float, scatter: float, weight: float) -> None:
    """Within 1e-3 bit of brute force, blunders left out."""
    finding = measured_finding("two", {s: TWO.reading.values[s] for s in TWO.states}, error, scatter)
    knowledge = base(
        [
            cause("worn", weight, {"weak": 0.9}, {"two": {"yes": {"some": 0.5, "much": 0.3}}}),
            cause("split", 2.0, {"weak": 0.2}),
        ],
        [finding],
        [effect("weak", {"yes": 0.05}, {}, {"two": {"yes": {"much": 0.6}}})],
        [],
        [],
        {},
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("diag.measure.channel.BLUNDER", 0.0)
        outcome = Diagnosis(compile_case(knowledge, seen())).outcomes({"measure": ("two",)})["measure"]
        expected = reading_gain_by_brute_force(outcome.joint, list(finding.reading.values.values()), error, scatter)
        assert outcome.gain == pytest.approx(expected, abs=1e-3)


def test_a_figure_tells_more_than_whether_it_passes_and_less_than_the_truth() -> None:
    """Data processing: state >= reading >= reading cut in two at a limit; invented."""
    outcome = Diagnosis(compile_case(small_base(), seen())).outcomes({"measure": ("two",)})["measure"]
    (table,) = channels_of(outcome.case, outcome.findings)
    width = np.hypot(1.2, 0.3)
    ys = np.linspace(-10, 20, 3001)
    rows = [stats.norm.sf(7.0, 10, np.hypot(1, width))]
    for low, high in ((5, 9), (1, 5)):
        density = (stats.norm.cdf((high - ys) / width) - stats.norm.cdf((low - ys) / width)) / (high - low)
        rows.append(density[ys > 7.0].sum() * (ys[1] - ys[0]))
    passes = np.array([[p, 1 - p] for p in rows])
    cut = outcome.joint @ passes
    known = mutual_information(dict(np.ndenumerate(outcome.joint)))
    assert table is not None
    assert mutual_information(dict(np.ndenumerate(cut))) < outcome.gain < known
