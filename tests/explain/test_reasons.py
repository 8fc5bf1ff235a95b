"""What each answer weighs, against full enumeration of the case with and without that answer."""

from dataclasses import replace
from math import inf, log10, prod

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from oracle.enumeration import Enumeration
from oracle.random_cases import cases, knowledge_bases
from oracle.shipped_cases import random_case, shipped

from diag.explain.reasons import weights_of_evidence
from diag.network.case_network import TARGET, compile_case
from diag.network.diagnosis import Diagnosis

EXAMPLES = settings(max_examples=40, deadline=None, derandomize=True, database=None)


@EXAMPLES
@given(st.data())
def test_against_enumeration(data):
    knowledge = data.draw(knowledge_bases())
    observations = data.draw(cases(knowledge))
    case = compile_case(knowledge, observations)
    network, told = case.full_network(), case.full_evidence()
    assume(prod(np.count_nonzero(told.get(n, np.ones(network.card(n)))) for n in network) <= 2**17)
    full = Enumeration(network, told).weight([TARGET])
    assume(full.sum() > 0)
    found = weights_of_evidence(Diagnosis(case))
    looks = [look for look in (*observations.looks, *observations.history) if look.likelihood is not None]
    for finding in {look.finding for look in looks}:
        others = [look for look in observations.looks if look.finding != finding]
        past = [look for look in observations.history if look.finding != finding]
        rest = compile_case(knowledge, replace(observations, looks=tuple(others), history=tuple(past)))
        if any(look.finding == finding and look.complaint for look in looks):
            continue  # a complaint has a false alarm of its own: leaving the answer out leaves that in place
        without = Enumeration(rest.full_network(), rest.full_evidence()).weight([TARGET])
        for i, state in enumerate(case.states):
            (weighed,) = (w.decibans for w in found[state] if w.finding == finding)
            assert weighed == pytest.approx(_decibans(full, without, i), abs=1e-6)


def _decibans(full, without, i):
    own = full[i] / without[i] if without[i] > 0 else 0.0
    left = without.sum() - without[i]
    others = (full.sum() - full[i]) / left if left > 0 else 0.0
    if own <= 0:
        return -inf if others > 0 else 0.0
    return 10 * log10(own / others) if others > 0 else inf


def test_the_heaviest_stands_first_and_every_answer_is_there():
    case = random_case(shipped(), seed=3, findings=8)
    told = [look.finding for look in (*case.observations.looks, *case.observations.history) if look.likelihood]
    for weighed in weights_of_evidence(Diagnosis(case)).values():
        assert [w.decibans for w in weighed] == sorted((w.decibans for w in weighed), reverse=True)
        assert {w.finding for w in weighed} == set(told)
