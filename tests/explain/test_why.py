"""What raised and lowered a cause, and what would turn the ranking over, against sums over the joint table."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from oracle.judged_cases import decibans, judged_cases, read_by_one_instrument
from oracle.knowledge import base, cause, fact, finding, look, seen

from diag.explain.weight import PROOF, leave_each_out, weight
from diag.explain.why import RARE, why
from diag.network.case_network import TARGET, UNLISTED_ID, compile_case
from diag.network.children import UNLISTED
from diag.network.diagnosis import Diagnosis

EXAMPLES = settings(max_examples=60, deadline=None, derandomize=True, database=None)
CLOSE = 1e-7  # decibans


def lines(case, posterior):
    """The list of causes, residual causes as one line."""
    found = {}
    for state, p in zip(case.states, posterior, strict=True):
        line = UNLISTED_ID if state.startswith(UNLISTED) else state
        found[line] = found.get(line, 0.0) + p
    return found


@EXAMPLES
@given(st.data())
def test_weights_against_enumeration(data):
    judged = data.draw(judged_cases())
    asked = data.draw(st.sampled_from(sorted(lines(judged.case, judged.fast.posterior))))
    answer = why(judged.fast, asked, leave_each_out(judged.fast))
    after = lines(judged.case, judged.slow.posterior(TARGET))
    assert answer.probability == pytest.approx(after[asked], abs=1e-10)
    weighed = {w.finding: w.decibans for w in (*answer.raised, *answer.lowered)}
    told = {x.finding for x in (*judged.case.observations.looks, *judged.case.observations.history) if x.likelihood}
    assert set(weighed) <= told
    for f in told:
        before = lines(judged.case, judged.without([f]).posterior(TARGET))
        odds = [(p[asked], sum(p.values()) - p[asked]) for p in (after, before)]
        # Ratios are compared where both sides are far above what rounding may leave of signed sums.
        if min(*odds[0], *odds[1]) > 1e-7:
            assert weighed.get(f, 0.0) == pytest.approx(decibans(*odds), abs=CLOSE)


@EXAMPLES
@given(judged_cases())
def test_reasons_are_sorted_and_stand_on_their_side(judged):
    answer = why(judged.fast, judged.case.causes[0], leave_each_out(judged.fast))
    for side, sign in ((answer.raised, 1), (answer.lowered, -1)):
        sizes = [sign * w.decibans for w in side]
        assert sizes == sorted(sizes, reverse=True)
        assert all(size > 0 for size in sizes)


@EXAMPLES
@given(st.data())
def test_turning_observation_against_enumeration(data):
    judged = data.draw(judged_cases())
    now = lines(judged.case, judged.slow.posterior(TARGET))
    asked = data.draw(st.sampled_from(sorted(now)))
    leader = max(now, key=lambda line: now[line])
    base = judged.case.knowledge
    turning = {}
    for f in (set(base.findings) | set(base.history)) - judged.case.recorded:
        table = judged.slow.joint([TARGET, f])
        for place, state in enumerate((base.findings.get(f) or base.history[f]).states):
            chance = table[:, place].sum()
            if chance > RARE:
                then = lines(judged.case, table[:, place] / chance)
                best = max(then, key=lambda line: then[line])
                if best != leader if asked == leader else best == asked:
                    turning[f, state] = (chance, best, then[best])
    turn = why(judged.fast, asked, {}).would_turn
    if turn is None:
        assert not turning
        return
    chance, best, then = turning[turn.finding, turn.state]
    assert chance == pytest.approx(max(c for c, *_ in turning.values()), abs=1e-9)
    assert (turn.probability, turn.leader_probability) == pytest.approx((chance, then), abs=1e-9)
    assert turn.leader == best
    assert turn.by == (turn.finding,)


@pytest.mark.parametrize("asked", ["worn", "split"])
def test_readings_by_a_named_instrument_are_left_out_with_their_finding(asked):
    judged = read_by_one_instrument()
    answer = why(judged.fast, asked, leave_each_out(judged.fast))
    weighed = {w.finding: w.decibans for w in (*answer.raised, *answer.lowered)}
    after = lines(judged.case, judged.slow.posterior(TARGET))
    for f in ("one", "two"):
        before = lines(judged.case, judged.without([f]).posterior(TARGET))
        expected = decibans(*((p[asked], sum(p.values()) - p[asked]) for p in (after, before)))
        assert abs(expected) > 0.01
        assert weighed[f] == pytest.approx(expected, abs=CLOSE)


def test_weight_of_a_published_test():
    """Liver scan, Altman and Bland 1994, BMJ 308, 1552: abnormal in 231 of 258 diseased and 32 of 86 others, likelihood
    ratio of 2.40625 (recomputed); ten times its logarithm is 3.8133 decibans (Good 1950)."""
    sensitivity, false_alarm = 231 / 258, 32 / 86
    alone = 1 - (1 - sensitivity) / (1 - false_alarm)
    diseased = cause("diseased", 75.0, shows={"abnormal": alone})
    knowledge = base([diseased], [finding("abnormal", {"yes": false_alarm})], model={"coexistence": 1e-13})
    diagnosis = Diagnosis(compile_case(knowledge, seen(look("abnormal", (0.0, 1.0)))))
    (raised,) = why(diagnosis, "diseased", leave_each_out(diagnosis)).raised
    assert raised.decibans == pytest.approx(10 * np.log10(2.40625), abs=1e-9)


def test_proof_is_bounded():
    """A finding that only one cause can make rules the other out; by hand: the odds against it are without bound."""
    knowledge = base(
        [cause("a", 1.0, shows={"sign": 0.5}), cause("b", 1.0)],
        [finding("sign", {"yes": 0.0})],
        model={"coexistence": 1e-13, "share_without_fault": 0.0},
    )
    diagnosis = Diagnosis(compile_case(knowledge, seen(look("sign", (0.0, 1.0)))))
    (raised,) = why(diagnosis, "a", leave_each_out(diagnosis)).raised
    assert 100 < raised.decibans <= PROOF
    assert weight((0.0, 1.0), (0.5, 0.5)) == -PROOF
    assert weight((1.0, 0.0), (0.5, 0.5)) == PROOF
    assert weight((0.0, 1.0), (0.0, 0.5)) == 0.0


def test_a_fact_about_the_past_weighs_its_factor():
    """By hand: yes is twice as likely with a as with anything else, so 2 to 1, 3.01 decibans; groups hold one fact."""
    knowledge = base([cause("a", 1.0), cause("b", 1.0)], [], history=[fact("old", "age", 0.2, {"a": 2.0})])
    diagnosis = Diagnosis(compile_case(knowledge, seen(history=[look("old", (0.0, 1.0))])))
    (raised,) = why(diagnosis, "a", leave_each_out(diagnosis)).raised
    assert raised.decibans == pytest.approx(10 * np.log10(2.0), abs=1e-9)
