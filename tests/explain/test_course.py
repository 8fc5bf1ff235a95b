"""The course of things from one cause on: against full enumeration, and its shape."""

from math import prod

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from oracle.enumeration import Enumeration
from oracle.knowledge import base, cause, effect, finding, look, seen
from oracle.random_cases import cases, knowledge_bases

from diag.explain.course import course
from diag.network.case_network import NOTHING_WRONG, compile_case
from diag.network.diagnosis import Diagnosis

EXAMPLES = settings(max_examples=40, deadline=None, derandomize=True, database=None)


@EXAMPLES
@given(st.data())
def test_it_is_part_of_the_most_probable_state_of_all(data):
    knowledge = data.draw(knowledge_bases())
    case = compile_case(knowledge, data.draw(cases(knowledge)))
    assume(case.causes)
    diagnosis = Diagnosis(case)
    assume(diagnosis.probability_of_evidence > 0)
    name = data.draw(st.sampled_from(case.causes))
    assume(diagnosis.posterior[case.states.index(name)] > 1e-9)
    told = {**case.likelihood, **dict.fromkeys(case.causes, "no"), name: "yes"}
    relevant = case.faults.ancestors([*case.likelihood, name])
    assume(prod(case.faults.card(n) for n in case.faults if n not in told) <= 2**16)
    slow = Enumeration(case.faults, told)
    weight = slow.weight([n for n in case.faults if n in relevant])
    found = course(diagnosis, name)
    nodes = [n for n in case.faults if n in relevant]
    held = [
        [case.faults[n].states.index(found.states[n])] if n in found.states else range(case.faults.card(n))
        for n in nodes
    ]
    assert weight[np.ix_(*held)].max() == pytest.approx(weight.max(), rel=1e-9)


@EXAMPLES
@given(st.data())
def test_every_step_follows_from_the_cause_by_a_link_of_the_network(data):
    knowledge = data.draw(knowledge_bases())
    case = compile_case(knowledge, data.draw(cases(knowledge)))
    diagnosis = Diagnosis(case)
    assume(case.causes and diagnosis.probability_of_evidence > 0)
    found = course(diagnosis, case.causes[0])
    assume(found)
    below = {found.cause}
    for parent, child in sorted(found.links, key=lambda link: list(found.states).index(link[1])):
        assert parent in case.faults[child].parents
        assert parent in below
        below.add(child)
    assert below == set(found.states)
    for parent, child in found.links:  # no link is said by a longer way already
        rest = [link for link in found.links if link != (parent, child)]
        reached, edge = {parent}, True
        while edge:
            new = {c for p, c in rest if p in reached} - reached
            edge, reached = bool(new), reached | new
        assert child not in reached


def test_a_chain_by_hand():
    """A belt that slips starves the flow, that makes it hot, and hot is what was seen; the hose plays no part."""
    knowledge = base(
        [cause("belt", 1.0, {"flow": 0.9}), cause("hose", 1.0, {"low": 0.9})],
        [finding("gauge", {"yes": 0.01})],
        [
            effect("flow", {"yes": 0.01}, {"hot": 0.9}, {}),
            effect("low", {"yes": 0.01}, {"hot": 0.9}, {}),
            effect("hot", {"yes": 0.01}, {}, {"gauge": 0.9}),
        ],
    )
    diagnosis = Diagnosis(compile_case(knowledge, seen(look("gauge", (0.0, 1.0)))))
    found = course(diagnosis, "belt")
    assert list(found.states) == ["belt", "flow", "hot", "gauge"]
    assert found.links == (("belt", "flow"), ("flow", "hot"), ("hot", "gauge"))
    assert course(diagnosis, NOTHING_WRONG) is None
