"""The best explanations of whole cases against the largest cells of the joint table, findings summed out."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from oracle.judged_cases import judged_cases, read_by_one_instrument
from oracle.knowledge import base, cause, finding, look, seen
from oracle.shipped_cases import random_case, some_causes

from diag.network.case_explanation import Explanations, most_raised
from diag.network.case_network import TARGET, compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.explanation import most_probable_explanation
from diag.network.gates import noisy_and, noisy_max
from diag.network.model import Node

EXAMPLES = settings(max_examples=100, deadline=None, derandomize=True, database=None)


def kept_nodes(case) -> list[str]:
    """Causes and effects that bear on the evidence."""
    relevant = case.faults.ancestors(case.likelihood)
    return [n for n in case.faults if n in relevant and n in {*case.causes, *case.knowledge.effects}]


def best_cell(judged, without=(), cause=None):
    """The largest P(C, causes and effects | e), where certain causes neither begin it nor are there."""
    names = [TARGET, *kept_nodes(judged.case)]
    table = judged.slow.joint(names).copy()
    for gone in without:
        table[judged.case.states.index(gone)] = 0.0
        if gone in names:
            np.moveaxis(table, names.index(gone), 0)[1] = 0.0
    if cause is not None:
        table[np.arange(len(table)) != judged.case.states.index(cause)] = 0.0
    return names, table


def cell_of(judged, names, explanation):
    """The cell that an explanation speaks of."""
    there = {explanation.cause: "yes", **dict.fromkeys(explanation.beside, "yes"), **explanation.effects}
    states = [judged.case.faults[n].states.index(there[n]) if n in there else 0 for n in names[1:]]
    return (judged.case.states.index(explanation.cause), *states)


@EXAMPLES
@given(st.data())
def test_best_with_each_cause(data):
    judged = data.draw(judged_cases())
    cause = data.draw(st.sampled_from(judged.case.states))
    found = Explanations(judged.fast).with_cause(cause)
    names, table = best_cell(judged, cause=cause)
    assert found.probability == pytest.approx(table.max(), abs=1e-12)
    assert table[cell_of(judged, names, found)] == pytest.approx(table.max(), abs=1e-12)


def test_errors_of_instruments_are_summed_out():
    judged = read_by_one_instrument()
    for began in judged.case.states:
        found = Explanations(judged.fast).with_cause(began)
        names, table = best_cell(judged, cause=began)
        assert found.probability == pytest.approx(table.max(), abs=1e-12)
        assert table[cell_of(judged, names, found)] == pytest.approx(table.max(), abs=1e-12)


@EXAMPLES
@given(judged_cases())
def test_next_ones_really_differ(judged):
    found = Explanations(judged.fast).best(3)
    taken = []
    for explanation in found:
        names, table = best_cell(judged, taken)
        assert explanation.probability == pytest.approx(table.max(), abs=1e-12)
        assert table[cell_of(judged, names, explanation)] == pytest.approx(table.max(), abs=1e-12)
        assert explanation.cause not in taken
        assert not set(explanation.beside) & set(taken)
        taken.append(explanation.cause)
    chances = [explanation.probability for explanation in found]
    assert chances == sorted(chances, reverse=True)


def test_a_second_fault_is_part_of_it_where_one_cannot_explain_all():
    """By hand: weights 5, 1 and 3 (nothing), so second faults 0.1 and 0.02; the signs are hardly ever false alarms."""
    knowledge = base(
        [cause("a", 5.0, shows={"sign_a": 0.9}), cause("b", 1.0, shows={"sign_b": 0.9})],
        [finding("sign_a", {"yes": 1e-6}), finding("sign_b", {"yes": 1e-6})],
    )
    observed = seen(look("sign_a", (0.0, 1.0)), look("sign_b", (0.0, 1.0)))
    first, *others = Explanations(Diagnosis(compile_case(knowledge, observed))).best(3)
    # One began it, the other is there by chance: 5/9 x 0.02 and 1/9 x 0.1, a tie; or both by chance.
    assert {first.cause, *first.beside} == {"a", "b"}
    whole = 5 / 9 * 0.02 + 1 / 9 * 0.1 + 3 / 9 * 0.1 * 0.02
    assert first.probability == pytest.approx(1 / 9 * 0.1 / whole, rel=1e-4)
    assert all(first.cause not in (e.cause, *e.beside) for e in others)


@pytest.mark.parametrize("seed", range(3))
def test_proofs_leave_the_answer_as_it_is_on_the_shipped_base(seed, monkeypatch):
    """With few causes all faults can be left open; then nothing is proved away and the maximum must be the same."""
    case = random_case(some_causes(6, seed), seed, findings=6)
    quick = Explanations(Diagnosis(case))
    monkeypatch.setattr(
        Explanations, "_may_be_beside", lambda self, cause, _: tuple(f for f in self.faults if f != cause)
    )
    slow = Explanations(Diagnosis(case))
    for place in np.argsort(-quick.diagnosis.posterior)[:4]:
        state = case.states[place]
        assert quick.with_cause(state).probability == pytest.approx(slow.with_cause(state).probability, rel=1e-9)


def test_the_cause_alone_bounds_its_explanations():
    case = random_case(some_causes(10, 5), 5, findings=8)
    diagnosis = Diagnosis(case)
    found = Explanations(diagnosis)
    for place, state in enumerate(case.states):
        assert found.with_cause(state).probability <= diagnosis.posterior[place] * (1 + 1e-9)


strengths = st.floats(0.01, 0.99)


@given(st.lists(strengths, min_size=3, max_size=3), strengths)
def test_bound_of_a_noisy_or_is_reached_where_nothing_else_acts(links, leak):
    """The gain of the parent p0, p1 being there: the largest ratio over all states of the others is the bound."""
    rows = [np.array([[1.0, 0.0], [1 - s, s]]) for s in links]
    gate = noisy_max(rows, np.array([1 - leak, leak]))
    node = Node("x", ("no", "yes"), ("p0", "p1", "p2"), gate)
    table = gate.expand()
    ratios = table[1, 1] / table[0, 1]
    assert most_raised(node, "p0", "p1") == pytest.approx(ratios.max(), rel=1e-9)
    assert most_raised(node, "p0", "of_other_parents") == pytest.approx((table[1] / table[0]).max(), rel=1e-9)


def test_other_gates_are_not_bounded():
    gate = noisy_and([np.array([0.0, 0.9]), np.array([0.0, 0.8])], 0.01)
    assert most_raised(Node("x", ("no", "yes"), ("p0", "p1"), gate), "p0", "p1") == np.inf


@EXAMPLES
@given(judged_cases())
def test_summed_nodes_leave_the_maximum_over_the_others(judged):
    """The whole case network with its target, findings summed out, against the joint table."""
    network, told = judged.case.full_network(), judged.case.full_evidence()
    relevant = network.ancestors(told)
    findings = {**judged.case.knowledge.findings, **judged.case.knowledge.history}
    summed = [n for n in relevant if n.split("~")[0] in findings]
    states, value = most_probable_explanation(network, told, also=[TARGET], summed=summed)
    names = [n for n in network if n in states]
    table = judged.slow.weight(names)
    place = tuple(network[n].states.index(states[n]) for n in names)
    assert value == pytest.approx(table.max(), abs=1e-12)
    assert table[place] == pytest.approx(table.max(), abs=1e-12)
    assert not set(names) & set(findings)
