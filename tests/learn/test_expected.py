"""Expected throws of one case: against the slope of log P(e | C) in each number, which is another road to the same.

d log P / d strength = N(thrown) / strength - N(not thrown) / (1 - strength) (Fisher's identity, in Louis 1982, JRSS B
44, 226-233), P(e | C) from the diagnosis, its slope by central differences.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from oracle.knowledge import base, cause, effect, finding, look, seen
from oracle.random_cases import cases, knowledge_bases

from diag.learn.expected import Throw, expected
from diag.learn.numbers import throws_of, with_throws
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis

STEP = 1e-5


def given_cause(knowledge, observations, cause):
    case = compile_case(knowledge, observations)
    diagnosis = Diagnosis(replace(case, history=np.ones(len(case.states))))
    return diagnosis.evidence_given_cause[case.states.index(cause)]


def slope(knowledge, observations, cause, throw, state):
    """Of log P(e | cause), probability moving from the ordinary state to ``state``."""
    logs = []
    for step in (STEP, -STEP):
        chances = throws_of(knowledge)[throw].copy()
        chances[state] += step
        chances[0] -= step
        logs.append(np.log(given_cause(with_throws(knowledge, {throw: chances}), observations, cause)))
    return (logs[0] - logs[1]) / (2 * STEP)


@settings(max_examples=60)
@given(st.data())
def test_counts_are_the_slope_of_the_evidence(data):
    knowledge = data.draw(knowledge_bases())
    observations = data.draw(cases(knowledge))
    case = compile_case(knowledge, observations)
    own = data.draw(st.sampled_from(case.states))
    assume(given_cause(knowledge, observations, own) > 1e-6)
    counts = expected(case, own)
    assert counts.evidence == pytest.approx(given_cause(knowledge, observations, own), rel=1e-9)
    second = {f.finding for f in observations.looks if sum(f.finding == o.finding for o in observations.looks) > 1}
    alarm = {f.finding for f in observations.looks if f.complaint}
    assert not alarm & {throw.child for throw in counts.throws}
    for throw, row in counts.throws.items():
        chances = throws_of(knowledge)[throw]
        assert not throw.parent or throw.parent == own or throw.parent in knowledge.effects
        if throw.child in second:  # its later looks hang on the same numbers, and are not counted
            continue
        for state in range(1, len(row)):
            if min(chances[0], chances[state]) > 0.01:
                wanted = slope(knowledge, observations, own, throw, state)
                assert row[state] / chances[state] - row[0] / chances[0] == pytest.approx(wanted, rel=1e-4, abs=1e-4)


def chain():
    """A cause, an effect, a finding; and a second cause of the effect."""
    return base(
        [cause("a", 3.0, leads_to={"e": 0.8}), cause("b", 1.0, leads_to={"e": 0.4})],
        [finding("f", {"yes": 0.05}), finding("g", {"yes": 0.1})],
        [effect("e", {"yes": 0.0}, shows={"f": 0.9, "g": 0.5})],
        model={"coexistence": 1e-9},
    )


def test_by_hand():
    """P(f | a) = 1 - 0.95 (1 - 0.8 0.9) = 0.734; the effect was there in (0.8 0.955) / 0.734 of such cases."""
    counts = expected(compile_case(chain(), seen(look("f", (0.0, 1.0)))), "a")
    there = 0.8 * (1 - 0.95 * 0.1) / 0.734
    assert counts.evidence == pytest.approx(0.734)
    assert counts.throws[Throw("e", "a", "yes")] == pytest.approx([1 - there, there])
    thrown = 0.8 * 0.9 / 0.734
    assert counts.throws[Throw("f", "e", "yes")] == pytest.approx([there - thrown, thrown])
    assert counts.throws[Throw("f")][1] == pytest.approx(0.05 / 0.734)


def test_what_brought_the_vehicle_in_and_what_nobody_looked_at_is_not_counted():
    knowledge = chain()
    counts = expected(compile_case(knowledge, seen(look("f", (0.0, 1.0), complaint=True))), "a")
    assert set(counts.throws) == {Throw("e", "a", "yes")}
    nothing = expected(compile_case(knowledge, seen(look("g", (1.0, 1.0)))), "a")
    assert nothing.throws == {}
    assert nothing.evidence == pytest.approx(1.0)


def test_an_ordinary_answer_says_that_nobody_threw_anything():
    counts = expected(compile_case(chain(), seen(look("f", (1.0, 0.0)))), "a")
    there = 0.8 * 0.1 / (1 - 0.8 * 0.9)
    assert counts.throws[Throw("f", "e", "yes")] == pytest.approx([there, 0.0])
    assert counts.throws[Throw("f")] == pytest.approx([1.0, 0.0])


def test_evidence_that_cannot_be_counts_nothing():
    knowledge = base([cause("a", 1.0), cause("b", 1.0, shows={"f": 0.9})], [finding("f", {"yes": 0.0})])
    knowledge = replace(knowledge, model={**knowledge.model})
    counts = expected(compile_case(knowledge, seen(look("f", (0.0, 1.0)))), "nothing_wrong")
    assert counts.evidence > 0  # by a second fault
    alone = base([cause("a", 1.0)], [finding("f", {"yes": 0.0})])
    assert expected(compile_case(alone, seen(look("f", (0.0, 1.0)))), "a").evidence == 0
