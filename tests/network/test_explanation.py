"""The most probable explanation against full enumeration, and the limits of writing gates out."""

import numpy as np
import pytest
from hypothesis import given
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


def test_multiprocessor_explanation():
    """Bobbio et al. 2001, Reliability Engineering and System Safety 71, 249-260 (inputs rounded as printed): given the
    failure, exactly the four disks have failed, 0.95422 (from memory; recomputed 0.9542235)."""
    q = {"N": 1e-5, "P1": 2.5e-3, "P2": 2.5e-3, "M1": 1.5e-4, "M2": 1.5e-4, "M3": 1.5e-4}
    q |= dict.fromkeys(("D11", "D12", "D21", "D22"), 0.32968)
    nodes = [Node(name, YES_NO, (), Table([1 - p, p])) for name, p in q.items()]
    both = Table([[[1, 0], [1, 0]], [[1, 0], [0, 1]]])
    any_of = noisy_or([1.0, 1.0, 1.0])
    for i in "12":
        nodes.append(Node(f"mem{i}", YES_NO, (f"M{i}", "M3"), both))
        nodes.append(Node(f"disk{i}", YES_NO, (f"D{i}1", f"D{i}2"), both))
        nodes.append(Node(f"S{i}", YES_NO, (f"P{i}", f"mem{i}", f"disk{i}"), any_of))
    nodes.append(Node("systems", YES_NO, ("S1", "S2"), both))
    nodes.append(Node("TE", YES_NO, ("N", "systems"), noisy_or([1.0, 1.0])))
    network = Network(nodes)
    states, value = most_probable_explanation(network, {"TE": np.array([0.0, 1.0])})
    assert {name for name in q if states[name] == "yes"} == {"D11", "D12", "D21", "D22"}
    assert value / 0.0123125 == pytest.approx(0.95422, abs=1e-4)


def test_a_wide_gate_is_refused_by_name():
    roots = [Node(f"c{i}", YES_NO, (), Table([0.9, 0.1])) for i in range(20)]
    child = Node("low", YES_NO, tuple(n.id for n in roots), noisy_or([0.5] * 20))
    with pytest.raises(GateTooWide, match="low"):
        most_probable_explanation(Network([*roots, child]), {"low": np.array([0.0, 1.0])})
