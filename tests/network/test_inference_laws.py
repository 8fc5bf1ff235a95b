"""Laws that any exact inference keeps, on random small networks."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from oracle.enumeration import Enumeration, entropy
from oracle.random_networks import Drawn, evidence, networks, some_nodes

from diag.network import plan, propagate
from diag.network.inference import Inference
from diag.network.model import Network

CLOSE = 1e-10
EXAMPLES = settings(max_examples=60, deadline=None, derandomize=True, database=None)


def possible_case(data: st.DataObject) -> tuple[Drawn, Inference]:
    drawn = data.draw(networks())
    told = data.draw(evidence(drawn))
    assume(Enumeration(drawn.network, told, drawn.tables).probability_of_evidence() > 0)
    return drawn, Inference(drawn.network, told)


def same_posteriors(found: Inference, expected: Inference, nodes) -> None:
    assert found.probability_of_evidence() == pytest.approx(expected.probability_of_evidence(), rel=CLOSE)
    wanted = expected.posteriors(nodes)
    for node, posterior in found.posteriors(nodes).items():
        assert posterior == pytest.approx(wanted[node], abs=CLOSE)


@EXAMPLES
@given(st.data())
def test_the_order_of_the_nodes_changes_nothing(data):
    drawn, inference = possible_case(data)
    mixed = Network(data.draw(st.permutations(list(drawn.network.values()))))
    same_posteriors(Inference(mixed, inference.likelihood), inference, list(drawn.network))


@EXAMPLES
@given(st.data())
def test_an_answer_that_every_state_allows_alike_changes_nothing(data):
    drawn, inference = possible_case(data)
    silent = {n: np.ones(drawn.network.card(n)) for n in drawn.network if n not in inference.likelihood}
    told = Inference(drawn.network, {**silent, **inference.likelihood})
    same_posteriors(told, inference, list(drawn.network))


@EXAMPLES
@given(st.data())
def test_nodes_below_all_that_is_seen_and_asked_change_nothing(data):
    drawn, inference = possible_case(data)
    asked = data.draw(some_nodes(drawn, 2))
    above = drawn.network.ancestors([*inference.likelihood, *asked])
    smaller = Network(node for node in drawn.network.values() if node.id in above)
    same_posteriors(Inference(smaller, inference.likelihood), inference, asked)


@EXAMPLES
@given(st.data())
def test_a_gain_lies_between_nought_and_both_entropies(data):
    drawn, inference = possible_case(data)
    test, target = data.draw(some_nodes(drawn, 3)), data.draw(some_nodes(drawn, 2))
    gain = inference.gain(test, target)
    assert gain >= 0
    assert gain <= entropy(inference.joint(target).ravel()) + CLOSE
    assert gain <= entropy(inference.joint(test).ravel()) + CLOSE


@EXAMPLES
@given(st.data())
def test_more_findings_never_tell_less(data):
    drawn, inference = possible_case(data)
    test, target = data.draw(some_nodes(drawn, 3)), data.draw(some_nodes(drawn, 2))
    assert inference.gain(test, target) >= inference.gain(test[:1], target) - CLOSE


@EXAMPLES
@given(st.data())
def test_a_test_and_its_target_can_change_places(data):
    drawn, inference = possible_case(data)
    test, target = data.draw(some_nodes(drawn, 2)), data.draw(some_nodes(drawn, 2))
    assert inference.gain(test, target) == pytest.approx(inference.gain(target, test), abs=CLOSE)


def by_number(variable, *_):
    return variable, 0


def by_number_backwards(variable, *_):
    return -variable, 0


def worst_fill_first(variable, near, cards):
    fill, cells = plan._fill_then_cells(variable, near, cards)
    return -fill, -cells


ORDERS = (plan._fill_then_cells, plan._cells_then_fill, by_number, by_number_backwards, worst_fill_first)


@pytest.mark.parametrize("weigh", ORDERS, ids=lambda weigh: weigh.__name__)
@EXAMPLES
@given(data=st.data())
def test_every_order_of_elimination_gives_the_same(data, weigh):
    drawn, inference = possible_case(data)
    nodes = list(drawn.network)
    test, target = data.draw(some_nodes(drawn, 2)), data.draw(some_nodes(drawn, 2))
    wanted, gain = inference.posteriors(nodes), inference.gain(test, target)

    def in_this_order(cards, scopes, *_):
        return plan._tree(cards, scopes, plan._eliminate(cards, scopes, weigh, plan.CELL_LIMIT))

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(propagate, "clique_tree", in_this_order)
        for node, posterior in inference.posteriors(nodes).items():
            assert posterior == pytest.approx(wanted[node], abs=CLOSE)
        assert inference.gain(test, target) == pytest.approx(gain, abs=CLOSE)
