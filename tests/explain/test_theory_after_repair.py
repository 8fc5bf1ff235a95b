"""A theory of how the trouble started, judged by what was found after a repair too, against the joint table."""

from dataclasses import replace

import numpy as np
import pytest
from oracle.enumeration import Enumeration, mutual_information
from oracle.judged_cases import decibans
from oracle.knowledge import base, cause, effect, finding, look, seen

from diag.explain.decisive import against_the_rest
from diag.explain.stated import Theory
from diag.explain.theory import trial
from diag.explain.weight import leave_each_out
from diag.network.case_network import TARGET, compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.observations import Mended

YES, NO = (0.0, 1.0), (1.0, 0.0)
KNOWLEDGE = base(
    [
        cause("leak", 3.0, {"hot": 0.6}, {"drip": 0.8}),
        cause("stuck", 2.0, {"hot": 0.9}),
        cause("blocked", 1.0, {"hot": 0.7}, {"cold_spot": 0.6}),
    ],
    [finding(name, {"yes": 0.05}) for name in ("gauge", "drip", "cold_spot", "bubbles")],
    [
        effect("hot", {"yes": 0.02}, {"warped": 0.4}, {"gauge": 0.9}),
        effect("warped", {"yes": 0.01}, {}, {"bubbles": 0.8}, kind="damage"),
    ],
)
LOOKS = (look("gauge", YES, complaint=True, entry=1), look("drip", NO, entry=2), look("gauge", YES, entry=3, stage=2))
BEFORE = seen(*LOOKS[:2])
AFTER = replace(seen(*LOOKS), mended=(Mended(2, {"stuck": 0.9}, {"leak": 0.1}),))
THEORIES = [Theory("stuck"), Theory("stuck", ("hot", "warped")), Theory("leak", ("hot",), ("stuck",))]


def answers(theory):
    now, before = (Diagnosis(compile_case(KNOWLEDGE, observed)) for observed in (AFTER, BEFORE))
    return now, trial(now, theory, leave_each_out(now), before)


def weights(observed, theory):
    """P(the theory, e), P(e) and P(each other cause with its best state of the same, e), all of it by enumeration."""
    case = compile_case(KNOWLEDGE, observed)
    slow = Enumeration(case.full_network(), case.full_evidence())
    nodes = [*theory.followed, *theory.absent, theory.cause]
    table = slow.weight([TARGET, *nodes])
    said = tuple(int(node not in theory.absent) for node in nodes)
    rivals = {c: table[i][..., 0].max() for i, c in enumerate(case.states) if c != theory.cause}
    return slow, table[(case.states.index(theory.cause), *said)], table.sum(), rivals


@pytest.mark.parametrize("theory", THEORIES)
def test_probability_and_rivals(theory):
    _, answer = answers(theory)
    _, own, total, rivals = weights(AFTER, theory)
    assert (answer.probability, answer.stages) == (pytest.approx(own / total, abs=1e-12), 2)
    best = sorted(rivals.values(), reverse=True)
    assert [rival.probability for rival in answer.rivals] == pytest.approx([p / total for p in best[:3]], abs=1e-12)
    _, prior, whole, _ = weights(seen(), theory)
    assert answer.prior == pytest.approx(prior / whole, abs=1e-12)
    assert answer.decibans == pytest.approx(10 * np.log10(answer.bayes_factor), abs=1e-9)


@pytest.mark.parametrize("theory", THEORIES)
def test_weight_of_each_finding(theory):
    _, answer = answers(theory)
    _, own, _, rivals = weights(AFTER, theory)
    best = answer.rivals[0].cause
    for weighed in answer.evidence:
        left = replace(AFTER, looks=tuple(x for x in LOOKS if x.finding != weighed.finding))
        case = compile_case(KNOWLEDGE, left)
        slow = Enumeration(case.full_network(), case.full_evidence())
        nodes = list(answer.said)
        table = slow.weight([TARGET, *nodes])
        mine = table[(case.states.index(theory.cause), *map(int, answer.said.values()))]
        other = table[(case.states.index(best), *map(int, answer.rivals[0].statements.values()))]
        assert weighed.decibans == pytest.approx(decibans((own, rivals[best]), (mine, other)), abs=1e-8)
    assert {w.finding for w in answer.evidence} == {"gauge", "drip"}


@pytest.mark.parametrize("theory", THEORIES)
def test_what_would_decide_is_looked_at_in_the_present_stage(theory):
    now, answer = answers(theory)
    slow, *_ = weights(AFTER, theory)
    nodes = list(answer.said)
    for outcome in against_the_rest(now, theory).values():
        shown = [now.case.node(f) for f in outcome.findings]
        table = slow.joint([TARGET, *nodes, *shown])
        joint: dict = {}
        for states in np.ndindex(*table.shape):
            held = states[: 1 + len(nodes)] == (now.case.states.index(theory.cause), *map(int, answer.said.values()))
            key = (held, states[1 + len(nodes) :])
            joint[key] = joint.get(key, 0.0) + table[states]
        assert outcome.gain == pytest.approx(mutual_information(joint), abs=1e-10)


def test_trouble_that_stays_after_the_repair_speaks_against_the_theory():
    _, after = answers(Theory("stuck"))
    before = Diagnosis(compile_case(KNOWLEDGE, BEFORE))
    assert after.probability < trial(before, Theory("stuck"), {}).probability
    assert after.chain is not None
    assert [step.effect for step in after.chain.steps] == ["hot"]
