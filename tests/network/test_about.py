"""Gain about effects, findings and faults against full enumeration, on random bases."""

from math import prod

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from oracle.enumeration import Enumeration
from oracle.random_cases import cases, knowledge_bases

from diag.network.about import gains_about
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.inference import TooManyOutcomes

CELLS = 2**17


@settings(max_examples=60, deadline=None, derandomize=True, database=None)
@given(st.data())
def test_gain_about_anything_is_that_of_enumeration(data):
    knowledge = data.draw(knowledge_bases())
    case = compile_case(knowledge, data.draw(cases(knowledge)))
    network, told = case.full_network(), case.full_evidence()
    cells = prod(np.count_nonzero(told.get(node, np.ones(network.card(node)))) for node in network)
    assume(cells <= CELLS and len(case.causes) > 0)
    pool = [*knowledge.effects, *knowledge.findings, *case.causes]
    about = data.draw(st.lists(st.sampled_from(pool), min_size=1, max_size=2, unique=True))
    diagnosis, slow = Diagnosis(case), Enumeration(network, told)
    gains = gains_about(diagnosis, about)
    assert set(gains) == set(diagnosis.open_outcomes)
    for id, outcome in diagnosis.open_outcomes.items():
        assert gains[id] == pytest.approx(slow.gain(outcome.findings, about), abs=1e-9)


def test_too_much_at_once_is_refused():
    from diag.network.observations import Observations
    from diag.session import load_knowledge

    knowledge = load_knowledge()
    case = compile_case(knowledge, Observations((), (), {}, frozenset(), None, {}))
    with pytest.raises(TooManyOutcomes):
        gains_about(Diagnosis(case), [*knowledge.effects][:7])
