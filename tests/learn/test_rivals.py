"""The methods that are compared, against full enumeration of the same cases, on random bases."""

from math import prod

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from oracle.enumeration import Enumeration
from oracle.random_cases import cases, knowledge_bases

from diag.learn.rivals import Asked, Marginals, naive_bayes, ours, prior_only
from diag.network.case_network import TARGET, CaseNetwork, compile_case
from diag.network.children import UNLISTED
from diag.network.diagnosis import Diagnosis

EXAMPLES = settings(max_examples=60, deadline=None, derandomize=True, database=None)
CELLS = 2**19


@st.composite
def random_cases(draw: st.DrawFn) -> CaseNetwork:
    knowledge = draw(knowledge_bases())
    case = compile_case(knowledge, draw(cases(knowledge)))
    network = case.full_network()
    assume(prod(network.card(node) for node in network if "~" not in node) <= CELLS and len(case.causes) > 0)
    return case


def asked(case: CaseNetwork) -> Asked:
    return Asked(Diagnosis(case), Marginals(case))


def listed(case: CaseNetwork, weights: np.ndarray) -> dict[str, float]:
    """By id and normalised; residual causes are one line."""
    found: dict[str, float] = {}
    for state, weight in zip(case.states, weights / weights.sum(), strict=True):
        name = "unlisted" if state.startswith(UNLISTED) else state
        found[name] = found.get(name, 0.0) + weight
    return found


def nothing_told(case: CaseNetwork) -> Enumeration:
    """The case's own network without evidence, without the nodes that only second looks need."""
    network = case.full_network()
    first = [network[node] for node in network if "~" not in node and "@" not in node]
    return Enumeration(type(network)(first), {})


@EXAMPLES
@given(random_cases())
def test_naive_bayes_multiplies_the_marginals_of_the_full_model(case):
    blank = nothing_told(case)
    weights = blank.posterior(TARGET)
    for look in (*case.observations.looks, *case.observations.history):
        if look.likelihood is not None:
            joint = blank.joint([TARGET, look.finding])
            for c in range(len(case.states)):
                weights[c] *= sum(joint[c, s] * look.likelihood[s] for s in range(joint.shape[1])) / joint[c].sum()
    assert naive_bayes(asked(case)) == pytest.approx(listed(case, weights), abs=1e-9)


@EXAMPLES
@given(random_cases())
def test_the_prior_alone_is_what_nothing_told_leaves(case):
    assert prior_only(asked(case)) == pytest.approx(listed(case, nothing_told(case).posterior(TARGET)), abs=1e-12)


@EXAMPLES
@given(random_cases())
def test_ours_is_the_posterior(case):
    network, told = case.full_network(), case.full_evidence()
    assume(prod(np.count_nonzero(told.get(n, np.ones(network.card(n)))) for n in network) <= CELLS)
    assert ours(asked(case)) == pytest.approx(listed(case, Enumeration(network, told).posterior(TARGET)), abs=1e-9)


@EXAMPLES
@given(random_cases())
def test_with_one_answer_naive_bayes_has_nothing_to_be_naive_about(case):
    looks = [x for x in (*case.observations.looks, *case.observations.history) if x.likelihood is not None]
    assume(len(looks) <= 1)
    assert naive_bayes(asked(case)) == pytest.approx(ours(asked(case)), abs=1e-9)
