"""The most probable explanation against full enumeration, and the limits of writing gates out."""

import warnings

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from oracle.enumeration import Enumeration
from oracle.random_networks import evidence, networks

from diag.network.explanation import GateTooWide, most_probable_explanation
from diag.network.gates import noisy_or
from diag.network.inference import _likelihood
from diag.network.model import Network, Node, Table

YES_NO = ("no", "yes")


@given(st.data())
def test_against_enumeration(data):
    drawn = data.draw(networks())
    told = data.draw(evidence(drawn))
    slow = Enumeration(drawn.network, told)
    likelihood = {node: _likelihood(drawn.network, node, answer) for node, answer in told.items()}
    states, value = most_probable_explanation(drawn.network, likelihood, also=list(drawn.network))
    assert value == pytest.approx(slow.joint_with_evidence.max(), abs=1e-12)
    weight = slow.weight(list(drawn.network))
    place = tuple(drawn.network[node].states.index(states[node]) for node in drawn.network)
    assert weight[place] == pytest.approx(value, abs=1e-12)


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_against_pgmpy(data):
    """A state that both call the most probable may not be the same one: the probabilities are compared."""
    drawn = data.draw(networks(most=5))
    told = {node: answer for node, answer in data.draw(evidence(drawn)).items() if isinstance(answer, str)}
    slow = Enumeration(drawn.network, told)
    assume(slow.probability_of_evidence() > 0 and len(told) < len(drawn.network))
    theirs = most_probable_by_pgmpy(drawn, told)
    likelihood = {node: _likelihood(drawn.network, node, answer) for node, answer in told.items()}
    states, value = most_probable_explanation(drawn.network, likelihood, also=list(drawn.network))
    weight = slow.weight(list(drawn.network))
    places = [
        tuple(drawn.network[n].states.index(assignment[n]) for n in drawn.network) for assignment in (states, theirs)
    ]
    assert [weight[place] for place in places] == pytest.approx([value, value], abs=1e-12)


def most_probable_by_pgmpy(drawn, told):
    with warnings.catch_warnings():
        # pgmpy tells of its coming changes while it loads.
        warnings.simplefilter("ignore")
        from pgmpy.factors.discrete import TabularCPD
        from pgmpy.inference import VariableElimination
        from pgmpy.models import DiscreteBayesianNetwork

        network = drawn.network
        model = DiscreteBayesianNetwork([(p, n.id) for n in network.values() for p in n.parents])
        model.add_nodes_from(network)
        for node in network.values():
            values = drawn.tables[node.id].reshape(-1, len(node.states)).T
            cards = [len(network[p].states) for p in node.parents]
            names = {n: list(network[n].states) for n in (node.id, *node.parents)}
            model.add_cpds(TabularCPD(node.id, len(node.states), values, list(node.parents), cards, names))
        rest = [node for node in network if node not in told]
        return {**told, **VariableElimination(model).map_query(rest, evidence=told, show_progress=False)}


def multiprocessor(q):
    """Bobbio et al. 2001, Reliability Engineering and System Safety 71, 249-260: the tree as a network."""
    nodes = [Node(name, YES_NO, (), Table([1 - p, p])) for name, p in q.items()]
    both = Table([[[1, 0], [1, 0]], [[1, 0], [0, 1]]])
    any_of = noisy_or([1.0, 1.0, 1.0])
    for i in "12":
        nodes.append(Node(f"mem{i}", YES_NO, (f"M{i}", "M3"), both))
        nodes.append(Node(f"disk{i}", YES_NO, (f"D{i}1", f"D{i}2"), both))
        nodes.append(Node(f"S{i}", YES_NO, (f"P{i}", f"mem{i}", f"disk{i}"), any_of))
    nodes.append(Node("systems", YES_NO, ("S1", "S2"), both))
    nodes.append(Node("TE", YES_NO, ("N", "systems"), noisy_or([1.0, 1.0])))
    return Network(nodes)


DISKS = ("D11", "D12", "D21", "D22")
ROUNDED = {"N": 1e-5, "P1": 2.5e-3, "P2": 2.5e-3, "M1": 1.5e-4, "M2": 1.5e-4, "M3": 1.5e-4} | dict.fromkeys(
    DISKS, 0.32968
)
RATES = {"N": 2e-9, "P1": 5e-7, "P2": 5e-7, "M1": 3e-8, "M2": 3e-8, "M3": 3e-8} | dict.fromkeys(DISKS, 8e-5)
YES, NO = np.array([0.0, 1.0]), np.array([1.0, 0.0])


def test_multiprocessor_explanation():
    """Given the failure, exactly the four disks have failed, 0.95422 (from memory; recomputed 0.9542235 with the
    inputs rounded as printed)."""
    states, value = most_probable_explanation(multiprocessor(ROUNDED), {"TE": YES})
    assert {name for name in ROUNDED if states[name] == "yes"} == set(DISKS)
    assert value / 0.0123125 == pytest.approx(0.95422, abs=1e-4)


def test_next_explanations_of_the_multiprocessor():
    """Rates per hour, 5000 h, inputs not rounded; recomputed: failure 0.012311878141286, four disks 0.95427733, a
    processor with the two disks of the other side 0.0098750, the bus alone 0.00016309."""
    q = {name: -np.expm1(-rate * 5000) for name, rate in RATES.items()}
    network = multiprocessor(q)
    for sound, failed, share in (
        ((), set(DISKS), 0.95427733),
        (("D11",), {"P1", "D21", "D22"}, 0.0098750),
        (DISKS, {"N"}, 0.00016309),
    ):
        states, value = most_probable_explanation(network, {"TE": YES, **dict.fromkeys(sound, NO)})
        assert {name for name in q if states[name] == "yes"} == failed
        assert value / 0.012311878141286 == pytest.approx(share, rel=5e-5)


def test_a_wide_gate_is_refused_by_name():
    roots = [Node(f"c{i}", YES_NO, (), Table([0.9, 0.1])) for i in range(20)]
    child = Node("low", YES_NO, tuple(n.id for n in roots), noisy_or([0.5] * 20))
    with pytest.raises(GateTooWide, match="low"):
        most_probable_explanation(Network([*roots, child]), {"low": np.array([0.0, 1.0])})
