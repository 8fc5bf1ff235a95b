"""The engine against full enumeration, on random small networks of every gate, under hard and soft evidence."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from oracle.enumeration import Enumeration
from oracle.random_networks import Drawn, Told, evidence, networks, some_nodes

from diag.network import factors
from diag.network.inference import ImpossibleEvidence, Inference

CLOSE = 1e-10
EXAMPLES = settings(max_examples=60, deadline=None, derandomize=True, database=None)


@pytest.fixture(scope="module", params=["shipped thresholds", "helper variables everywhere"], autouse=True)
def gates_written_out(request):
    """Gates over few parents are tables as shipped; with thresholds of one cell each gate gets its helper."""
    with pytest.MonkeyPatch.context() as patch:
        if request.param == "helper variables everywhere":
            patch.setattr(factors, "DENSE_LEAF_CELLS", 1)
            patch.setattr(factors, "DENSE_GATE_CELLS", 1)
        yield


def told_networks(data: st.DataObject) -> tuple[Drawn, Told, Enumeration]:
    drawn = data.draw(networks())
    told = data.draw(evidence(drawn))
    return drawn, told, Enumeration(drawn.network, told, drawn.tables)


@EXAMPLES
@given(networks())
def test_gates_expand_to_the_table_they_mean(drawn):
    for node in drawn.network:
        assert drawn.network.table(node) == pytest.approx(drawn.tables[node], abs=1e-13)


@EXAMPLES
@given(st.data())
def test_probability_of_the_evidence(data):
    drawn, told, slow = told_networks(data)
    fast = Inference(drawn.network, told).probability_of_evidence()
    assert fast == pytest.approx(slow.probability_of_evidence(), rel=CLOSE, abs=0)


@EXAMPLES
@given(st.data())
def test_posteriors_of_every_node(data):
    drawn, told, slow = told_networks(data)
    inference = Inference(drawn.network, told)
    if slow.probability_of_evidence() == 0:
        with pytest.raises(ImpossibleEvidence):
            inference.posteriors(drawn.network)
        return
    for node, posterior in inference.posteriors(drawn.network).items():
        assert posterior == pytest.approx(slow.posterior(node), abs=CLOSE)
        assert inference.posterior(node) == pytest.approx(posterior, abs=CLOSE)


@EXAMPLES
@given(st.data())
def test_joint_of_several_nodes(data):
    drawn, told, slow = told_networks(data)
    nodes = data.draw(some_nodes(drawn, 4))
    inference = Inference(drawn.network, told)
    if slow.probability_of_evidence() == 0:
        with pytest.raises(ImpossibleEvidence):
            inference.joint(nodes)
    else:
        assert inference.joint(nodes) == pytest.approx(slow.joint(nodes), abs=CLOSE)


@EXAMPLES
@given(st.data())
def test_gains_of_tests_that_may_show_a_part_of_the_target(data):
    drawn, told, slow = told_networks(data)
    target = data.draw(some_nodes(drawn, 2))
    tests = data.draw(st.lists(some_nodes(drawn, 3), min_size=1, max_size=4))
    inference = Inference(drawn.network, told)
    if slow.probability_of_evidence() == 0:
        with pytest.raises(ImpossibleEvidence):
            inference.gains(tests, target)
        return
    expected = [slow.gain(test, target) for test in tests]
    assert inference.gains(tests, target) == pytest.approx(expected, abs=CLOSE)
    assert inference.gain(tests[0], target) == pytest.approx(expected[0], abs=CLOSE)
    assert inference.gain(tests[0], target[0]) == pytest.approx(slow.gain(tests[0], target[:1]), abs=CLOSE)


@EXAMPLES
@given(st.data())
def test_columns_of_further_likelihoods(data):
    drawn, told, _ = told_networks(data)
    targets = data.draw(some_nodes(drawn, 3))
    columns = [likelihoods(drawn, data.draw(evidence(drawn, 3))) for _ in range(3)]
    total, weights = Inference(drawn.network, told).run_columns(targets, columns)
    for column, more in enumerate(columns):
        both = {n: told_vector(drawn, told, n) * more.get(n, 1.0) for n in {*told, *more}}
        slow = Enumeration(drawn.network, both, drawn.tables)
        assert total[column] == pytest.approx(slow.probability_of_evidence(), abs=CLOSE)
        for target, weight in zip(targets, weights, strict=True):
            assert weight[:, column] == pytest.approx(slow.weight([target]), abs=CLOSE)


def told_vector(drawn: Drawn, told: Told, node: str) -> np.ndarray:
    said = told.get(node)
    states = drawn.network[node].states
    if said is None:
        return np.ones(len(states))
    return np.array([float(s == said) for s in states] if isinstance(said, str) else said)


def likelihoods(drawn: Drawn, told: Told) -> dict[str, np.ndarray]:
    return {node: told_vector(drawn, told, node) for node in told}
