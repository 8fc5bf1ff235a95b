"""A network with some roots held, against full enumeration of the whole one with those roots as evidence."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from oracle.enumeration import Enumeration
from oracle.random_networks import networks

from diag.network.model import Network, Node, Table
from diag.network.pinned import pinned


@given(st.data())
def test_what_is_left_is_the_network_given_the_held_roots(data):
    drawn = data.draw(networks(6))
    roots = [node.id for node in drawn.network.values() if not node.parents]
    held = {
        root: data.draw(st.integers(0, drawn.network.card(root) - 1))
        for root in data.draw(st.lists(st.sampled_from(roots), unique=True))
    }
    evidence = {root: drawn.network[root].states[state] for root, state in held.items()}
    whole = Enumeration(drawn.network, evidence, drawn.tables)
    assume(whole.probability_of_evidence() > 0 and len(held) < len(drawn.network))
    kept = [node for node in drawn.network if node not in held]
    found = Enumeration(pinned(drawn.network, held), {}).weight(kept)
    np.testing.assert_allclose(found, whole.joint(kept), atol=1e-9)


def test_only_roots_can_be_held():
    rain = Node("rain", ("no", "yes"), (), Table([0.8, 0.2]))
    wet = Node("wet", ("no", "yes"), ("rain",), Table([[0.9, 0.1], [0.2, 0.8]]))
    with pytest.raises(ValueError, match="wet"):
        pinned(Network([rain, wet]), {"wet": 1})
