"""A chain with its links: their shape on random bases, and one by hand."""

from hypothesis import assume, given, settings
from hypothesis import strategies as st
from oracle.knowledge import base, cause, effect, finding, look, seen
from oracle.random_cases import cases, knowledge_bases

from diag.explain.chain import chain_of
from diag.explain.course import course_of
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis

EXAMPLES = settings(max_examples=60, deadline=None, derandomize=True, database=None)


@EXAMPLES
@given(st.data())
def test_every_link_is_one_of_the_network_and_none_says_what_others_say(data):
    knowledge = data.draw(knowledge_bases())
    case = compile_case(knowledge, data.draw(cases(knowledge)))
    diagnosis = Diagnosis(case)
    assume(case.causes and diagnosis.probability_of_evidence > 0)
    chain = chain_of(diagnosis, data.draw(st.sampled_from(case.causes)), {})
    assume(chain)
    found = course_of(diagnosis, chain)
    order = list(found.states)
    assert order[0] == found.cause == chain.cause
    for parent, child in found.links:
        assert parent in case.faults[child].parents
        assert order.index(parent) < order.index(child)
        assert not way(found.links, parent, child, without=(parent, child))
    for step in chain.steps:  # what was left out is said by others
        assert all(way(found.links, parent, step.effect) for parent in step.because)
    for node in set(found.states) - {found.cause, *chain.beside, *(step.effect for step in chain.steps)}:
        assert any(child == node for _, child in found.links)
        assert found.states[node] != case.faults[node].states[0]


def way(links, start, end, without=None):
    reached, more = {start}, True
    while more:
        new = {c for p, c in links if p in reached and (p, c) != without} - reached
        more, reached = bool(new), reached | new
    return end in reached


def test_a_chain_by_hand():
    """A belt that slips starves the flow, that makes it hot, and hot is what was seen; the hose plays no part."""
    knowledge = base(
        [cause("belt", 1.0, {"flow": 0.9, "hot": 0.2}), cause("hose", 1.0, {"low": 0.9})],
        [finding("gauge", {"yes": 0.01})],
        [
            effect("flow", {"yes": 0.01}, {"hot": 0.9}, {}),
            effect("low", {"yes": 0.01}, {"hot": 0.9}, {}),
            effect("hot", {"yes": 0.01}, {}, {"gauge": 0.9}),
        ],
    )
    diagnosis = Diagnosis(compile_case(knowledge, seen(look("gauge", (0.0, 1.0)))))
    chain = chain_of(diagnosis, "belt", {})
    assert chain is not None
    found = course_of(diagnosis, chain)
    assert list(found.states) == ["belt", "flow", "hot", "gauge"]
    assert found.links == (("belt", "flow"), ("flow", "hot"), ("hot", "gauge"))  # belt to hot is said by way of flow
