"""A diagnosis against full enumeration of the same case with the initiating cause as a node, on random bases."""

from dataclasses import dataclass
from math import prod

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from oracle.enumeration import Enumeration, mutual_information
from oracle.random_cases import cases, knowledge_bases

from diag.network import factors
from diag.network.case_network import TARGET, CaseNetwork, compile_case
from diag.network.diagnosis import Diagnosis

CLOSE = 1e-10
EXAMPLES = settings(max_examples=60, deadline=None, derandomize=True, database=None)
CELLS = 2**19


@pytest.fixture(scope="module", params=["shipped thresholds", "helper variables everywhere"], autouse=True)
def gates_written_out(request):
    with pytest.MonkeyPatch.context() as patch:
        if request.param == "helper variables everywhere":
            patch.setattr(factors, "DENSE_LEAF_CELLS", 1)
            patch.setattr(factors, "DENSE_GATE_CELLS", 1)
        yield


@dataclass(frozen=True)
class Judged:
    """One random case, asked in both ways."""

    case: CaseNetwork
    fast: Diagnosis
    slow: Enumeration


@st.composite
def judged_cases(draw: st.DrawFn) -> Judged:
    knowledge = draw(knowledge_bases())
    case = compile_case(knowledge, draw(cases(knowledge)))
    network, told = case.full_network(), case.full_evidence()
    cells = prod(np.count_nonzero(told.get(node, np.ones(network.card(node)))) for node in network)
    assume(cells <= CELLS and len(case.causes) > 0)
    return Judged(case, Diagnosis(case), Enumeration(network, told))


@EXAMPLES
@given(judged_cases())
def test_likely_causes(judged):
    fast, slow = judged.fast, judged.slow
    assert fast.posterior == pytest.approx(slow.posterior(TARGET), abs=CLOSE)
    assert fast.posterior.sum() == pytest.approx(1, abs=1e-12)
    assert fast.probability_of_evidence == pytest.approx(slow.probability_of_evidence(), rel=CLOSE, abs=0)
    given_cause = slow.weight([TARGET]) / judged.case.prior
    assert fast.evidence_given_cause == pytest.approx(given_cause, rel=CLOSE, abs=0)


@EXAMPLES
@given(judged_cases())
def test_what_else_is_there(judged):
    fast, slow = judged.fast, judged.slow
    for cause, chance in fast.also_present().items():
        assert chance == pytest.approx(slow.posterior(cause)[1], abs=CLOSE)
    for effect, chances in fast.effects().items():
        assert chances == pytest.approx(slow.posterior(effect), abs=CLOSE)
    assert set(fast.also_present()) == set(judged.case.causes)
    assert set(fast.effects()) == set(judged.case.knowledge.effects)


@EXAMPLES
@given(judged_cases())
def test_share_of_the_answer_that_explains_nothing(judged):
    weight = judged.slow.weight([TARGET])
    given_cause = weight / judged.case.prior
    idle = sum(p * min(g, given_cause[-1]) for p, g in zip(judged.case.prior[:-1], given_cause, strict=False))
    assert judged.fast.idle_share == pytest.approx(idle / weight.sum(), abs=CLOSE)


@EXAMPLES
@given(judged_cases())
def test_findings_that_nothing_known_is_behind(judged):
    found = judged.fast.unexplained()
    stand_out = {f for f, told in judged.case.likelihood.items() if told.argmax() > 0 and "~" not in f}
    assert set(found) == stand_out
    for finding, chance in found.items():
        parents = judged.case.faults[finding].parents
        all_sound = judged.slow.joint(parents)[(0,) * len(parents)] if parents else 1.0
        assert chance == pytest.approx(all_sound, abs=CLOSE)


@EXAMPLES
@given(st.data())
def test_outcomes_and_gains_of_tests_and_questions(data):
    judged = data.draw(judged_cases())
    findings = list(judged.case.knowledge.findings)
    lists = st.lists(st.sampled_from(findings), unique=True, min_size=1, max_size=3)
    tests = {f"test{i}": data.draw(lists) for i in range(3)}
    outcomes = judged.fast.outcomes(tests)
    for test, revealed in tests.items():
        still_open = tuple(f for f in revealed if f not in judged.case.recorded)
        assert (test in outcomes) == bool(still_open)
        if still_open:
            assert outcomes[test].findings == still_open
            assert outcomes[test].joint == pytest.approx(judged.slow.joint([TARGET, *still_open]), abs=CLOSE)
            assert outcomes[test].gain == pytest.approx(judged.slow.gain(still_open, [TARGET]), abs=CLOSE)


@EXAMPLES
@given(judged_cases())
def test_outcomes_and_gains_of_facts_about_the_past(judged):
    outcomes = judged.fast.fact_outcomes()
    assert set(outcomes) == set(judged.case.knowledge.history) - judged.case.recorded
    for fact, outcome in outcomes.items():
        joint = judged.slow.joint([TARGET, fact])
        assert outcome.joint == pytest.approx(joint, abs=CLOSE)
        assert outcome.gain == pytest.approx(mutual_information(dict(np.ndenumerate(joint))), abs=CLOSE)
