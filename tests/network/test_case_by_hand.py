"""What a case means, worked out by hand on bases of two causes. Every number is derived in the comments."""

import numpy as np
import pytest
from oracle.enumeration import mutual_information
from oracle.knowledge import base, cause, effect, fact, finding, fitting, look, seen

from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis

# Weights 6 and 3, nothing wrong 1: prior 0.6, 0.3, 0.1. A second fault is there with 0.12 over the vehicle,
# shared out by weight: q = 0.08 for the leak, 0.04 for the clog.
#
# P(wet | leak there or not, clog there or not), false alarm 0.1 and links 0.8, 0.5:
#   neither 0.1; leak 1 - 0.9 x 0.2 = 0.82; clog 1 - 0.9 x 0.5 = 0.55; both 1 - 0.9 x 0.2 x 0.5 = 0.91
#   P(wet | C = leak)    = 0.96 x 0.82 + 0.04 x 0.91                                = 0.8236
#   P(wet | C = clog)    = 0.92 x 0.55 + 0.08 x 0.91                                = 0.5788
#   P(wet | C = nothing) = 0.8832 x 0.1 + 0.0768 x 0.82 + 0.0368 x 0.55 + 0.0032 x 0.91 = 0.174448
# P(work done | C): base 0.2, threefold for the leak: 0.6, 0.2, 0.2.
TINY = {"share_without_fault": 1.0, "coexistence": 0.12, "complaint_false_alarm": 0.1, "second_look_copies": 0.4}
YES, NO, UNSURE = (0.0, 1.0), (1.0, 0.0), (0.25, 1.0)


def leak_and_clog(facts=None, **of_clog):
    """The base above; ``of_clog``: fittings of the clog."""
    return base(
        [cause("leak", 6.0, shows={"wet": 0.8}), cause("clog", 3.0, shows={"wet": 0.5}, **of_clog)],
        [finding("wet", {"yes": 0.1})],
        history=[fact("work", "work", 0.2, {"leak": 3.0})] if facts is None else facts,
        fittings=[fitting("fan", 0.25)],
        model=TINY,
    )


def diagnosis(*looks, knowledge=None, **told):
    return Diagnosis(compile_case(knowledge or leak_and_clog(), seen(*looks, **told)))


def assert_weights(found: Diagnosis, *weights: float) -> None:
    """P(c, e) of leak, clog, nothing."""
    assert found.probability_of_evidence == pytest.approx(sum(weights), rel=1e-12)
    assert found.posterior == pytest.approx(np.array(weights) / sum(weights), rel=1e-12)


def test_prior_is_the_share_of_opened_cases():
    found = diagnosis()
    assert found.case.states == ("leak", "clog", "nothing_wrong")
    assert_weights(found, 0.6, 0.3, 0.1)


def test_a_finding_and_a_fact_about_the_past():
    # 0.6 x 0.8236 x 0.6; 0.3 x 0.5788 x 0.2; 0.1 x 0.174448 x 0.2
    assert_weights(diagnosis(look("wet", YES), history=[look("work", YES)]), 0.296496, 0.034728, 0.00348896)


def test_no_to_a_fact_counts_too():
    # 0.6 x 0.8236 x 0.4; 0.3 x 0.5788 x 0.8; 0.1 x 0.174448 x 0.8
    assert_weights(diagnosis(look("wet", YES), history=[look("work", NO)]), 0.197664, 0.138912, 0.01395584)


def test_an_unsure_answer_is_a_likelihood():
    # P(e | c) = 0.25 + 0.75 P(wet | c): 0.8677, 0.6841, 0.380836
    assert_weights(diagnosis(look("wet", UNSURE)), 0.52062, 0.20523, 0.0380836)


def test_a_complaint_is_seldom_false():
    # False alarm 0.01 instead of 0.1: nobody brings a vehicle in for nothing.
    #   leak 1 - 0.99 x 0.2 x 0.98 = 0.80596; clog 1 - 0.99 x 0.936 x 0.5 = 0.53668
    #   nothing 1 - 0.99 x 0.936 x 0.98 = 0.0918928
    assert_weights(diagnosis(look("wet", YES, complaint=True)), 0.483576, 0.161004, 0.00918928)


def test_a_second_look_repeats_the_first_two_times_in_five():
    # P(yes, yes | faults) = p (0.4 + 0.6 p): neither 0.046, leak 0.73144, clog 0.4015, both 0.86086
    #   leak 0.96 x 0.73144 + 0.04 x 0.86086 = 0.7366168; clog 0.92 x 0.4015 + 0.08 x 0.86086 = 0.4382488
    #   nothing 0.8832 x 0.046 + 0.0768 x 0.73144 + 0.0368 x 0.4015 + 0.0032 x 0.86086 = 0.114331744
    assert_weights(diagnosis(look("wet", YES), look("wet", YES)), 0.44197008, 0.13147464, 0.0114331744)


def test_a_second_look_that_contradicts_the_first():
    # P(yes, no | faults) = p x 0.6 (1 - p): neither 0.054, leak 0.08856, clog 0.1485, both 0.04914
    #   leak 0.96 x 0.08856 + 0.04 x 0.04914 = 0.0869832; clog 0.92 x 0.1485 + 0.08 x 0.04914 = 0.1405512
    #   nothing 0.8832 x 0.054 + 0.0768 x 0.08856 + 0.0368 x 0.1485 + 0.0032 x 0.04914 = 0.060116256
    assert_weights(diagnosis(look("wet", YES), look("wet", NO)), 0.05218992, 0.04216536, 0.0060116256)


def test_a_second_answer_about_the_past_repeats_the_first_two_times_in_five():
    # "yes", then an unsure (0.25, 1): likelihood of no 0, of yes 1 x (0.4 + 0.6 x 1) = 1.
    twice = [look("work", YES), look("work", UNSURE)]
    assert_weights(diagnosis(history=twice), 0.36, 0.06, 0.02)
    # (0.25, 1) twice: no 0.25 x (0.4 + 0.6 x 0.25) = 0.1375, yes 1: leak 0.6 + 0.4 x 0.1375 = 0.655,
    # the others 0.2 + 0.8 x 0.1375 = 0.31.
    twice = [look("work", UNSURE), look("work", UNSURE)]
    assert_weights(diagnosis(history=twice), 0.393, 0.093, 0.031)


def test_facts_of_one_event_tell_it_once():
    # Bases 0.1 and 0.05. Both there: of the factors only the largest above 1 and the smallest below 1 count.
    #   leak 0.1 x 0.05 x 6 = 0.03 (not x 3 x 6); clog 0.1 x 0.05 x 2 x 0.5 = 0.005; nothing 0.005
    facts = [
        fact("job", "work", 0.1, {"leak": 3.0, "clog": 2.0}),
        fact("refill", "work", 0.05, {"leak": 6.0, "clog": 0.5}),
    ]
    both = [look("job", YES), look("refill", YES)]
    assert_weights(diagnosis(knowledge=leak_and_clog(facts), history=both), 0.018, 0.0015, 0.0005)
    # Neither, for the leak: 1 - (0.1 x 0.95 x 3 + 0.9 x 0.05 x 6 + 0.03) = 1 - 0.585 = 0.415
    #   clog 1 - (0.095 x 2 + 0.045 x 0.5 + 0.005) = 0.7825; nothing 1 - 0.095 - 0.045 - 0.005 = 0.855
    neither = [look("job", NO), look("refill", NO)]
    assert_weights(diagnosis(knowledge=leak_and_clog(facts), history=neither), 0.249, 0.23475, 0.0855)


def test_facts_of_two_events_multiply():
    facts = [fact("job", "work", 0.1, {"leak": 3.0}), fact("old", "age", 0.05, {"leak": 6.0})]
    both = [look("job", YES), look("old", YES)]  # leak 0.6 x 0.3 x 0.3; clog 0.3 x 0.1 x 0.05
    assert_weights(diagnosis(knowledge=leak_and_clog(facts), history=both), 0.054, 0.0015, 0.0005)


def test_a_fact_is_never_surer_than_0_98():
    facts = [fact("work", "work", 0.5, {"leak": 8.0})]  # 0.5 x 8 would be 4
    assert_weights(diagnosis(knowledge=leak_and_clog(facts), history=[look("work", NO)]), 0.012, 0.15, 0.05)


@pytest.mark.parametrize(
    ("fitted", "weights"),
    [
        ({}, {"leak": 6.0, "clog": 0.75}),  # a quarter of the vehicles has a fan
        ({"fan": True}, {"leak": 6.0, "clog": 3.0}),
        ({"fan": False}, {"leak": 6.0}),
    ],
)
def test_a_cause_that_needs_a_fitting(fitted, weights):
    found = diagnosis(knowledge=leak_and_clog(fitted=["fan"]), fitted=fitted)
    assert found.case.causes == tuple(weights)
    assert found.posterior == pytest.approx(np.array([*weights.values(), 1.0]) / (sum(weights.values()) + 1))
    assert found.case.coexistence == pytest.approx(0.12 * np.array(list(weights.values())) / sum(weights.values()))


def test_a_cause_that_a_fitting_rules_out():
    knowledge = leak_and_clog(not_fitted=["fan"])
    assert diagnosis(knowledge=knowledge).posterior == pytest.approx(np.array([6.0, 2.25, 1.0]) / 9.25)
    assert diagnosis(knowledge=knowledge, fitted={"fan": True}).case.causes == ("leak",)


def test_what_else_is_there_what_is_idle_and_what_is_unexplained():
    found = diagnosis(look("wet", YES))
    total = 0.49416 + 0.17364 + 0.0174448  # 0.6 x 0.8236; 0.3 x 0.5788; 0.1 x 0.174448
    # The leak is there as the initiating cause, beside the clog (0.3 x 0.08 x 0.91) or beside nothing
    # (0.1 x 0.08 x 0.8236).
    leak = (0.49416 + 0.02184 + 0.0065888) / total
    clog = (0.17364 + 0.6 * 0.04 * 0.91 + 0.1 * 0.04 * 0.5788) / total
    assert found.also_present() == pytest.approx({"leak": leak, "clog": clog}, rel=1e-12)
    # Both causes show the finding oftener than nothing does, so all of nothing's 0.174448 is idle in each.
    assert found.idle_share == pytest.approx(0.9 * 0.174448 / total, rel=1e-12)
    # Nothing behind it: C = nothing, no second fault, the false alarm: 0.1 x 0.92 x 0.96 x 0.1
    assert found.unexplained() == pytest.approx({"wet": 0.008832 / total}, rel=1e-12)


def test_what_a_look_and_a_question_would_tell():
    before = diagnosis()
    outcomes = before.outcomes({"look": ["wet"]})["look"]
    yes = np.array([0.49416, 0.17364, 0.0174448])
    no = np.array([0.6, 0.3, 0.1]) - yes
    assert outcomes.joint == pytest.approx(np.stack([no, yes], axis=1), rel=1e-12)
    assert outcomes.gain == pytest.approx(mutual_information(dict(np.ndenumerate(outcomes.joint))), abs=1e-12)
    asked = diagnosis(look("wet", YES)).fact_outcomes()["work"]
    weights = np.stack([yes * [0.4, 0.8, 0.8], yes * [0.6, 0.2, 0.2]], axis=1)
    assert asked.joint == pytest.approx(weights / yes.sum(), rel=1e-12)


def test_what_has_an_answer_or_can_have_none_is_not_asked_again():
    found = diagnosis(look("wet", YES), history=[look("work", UNSURE)])
    assert found.outcomes({"look": ["wet"]}) == {} == found.fact_outcomes()
    gone = diagnosis(look("wet", None), gone=["wet"])
    assert gone.outcomes({"look": ["wet"]}) == {}
    assert_weights(gone, 0.6, 0.3, 0.1)


def test_a_mechanism_has_a_residual_cause_of_its_own():
    # Weights 8, residual 1, nothing 1: prior 0.8, 0.1, 0.1; second fault 0.09: q = 0.08, 0.01.
    #   P(hot | a) = 1 - 0.95 x 0.5 x (1 - 0.01 x 0.9) = 0.529275; P(hot | unlisted) = 1 - 0.95 x 0.96 x 0.1 = 0.9088
    #   P(hot | nothing) = 1 - 0.95 x 0.96 x 0.991 = 0.096208
    # P(gauge | hot) = 1 - 0.98 x 0.1 = 0.902, else 0.02: 0.02 + 0.882 P(hot)
    knowledge = base(
        [cause("a", 8.0, leads_to={"hot": 0.5})],
        [finding("gauge", {"yes": 0.02})],
        [effect("hot", {"yes": 0.05}, shows={"gauge": 0.9}, residual=1.0)],
        model=TINY | {"coexistence": 0.09, "strength_of_unlisted": 0.9},
    )
    found = diagnosis(look("gauge", YES), knowledge=knowledge)
    assert found.case.states == ("a", "unlisted_hot", "nothing_wrong")
    assert_weights(found, 0.8 * 0.48682055, 0.1 * 0.8215616, 0.1 * 0.104855456)


def test_an_effect_that_another_stops():
    # q = 0.08, 0.04. P(dry): C = a or nothing 1 - 0.9 x (1 - 0.04 x 0.8) = 0.1288; C = b 1 - 0.9 x 0.2 = 0.82
    # P(hot) = P(a's link) x (1 - 0.75 P(dry)): a 0.5 x 0.9034; b 0.04 x 0.385; nothing 0.04 x 0.9034
    # P(gauge) = 0.02 + 0.882 P(hot): 0.4183994, 0.0335828, 0.051871952
    knowledge = base(
        [cause("a", 6.0, leads_to={"hot": 0.5}), cause("b", 3.0, leads_to={"dry": 0.8})],
        [finding("gauge", {"yes": 0.02})],
        [
            effect("dry", {"yes": 0.1}),
            effect("hot", {}, shows={"gauge": 0.9}, inhibited_by={"dry": 0.75}),
        ],
        model=TINY,
    )
    found = diagnosis(look("gauge", YES), knowledge=knowledge)
    assert_weights(found, 0.6 * 0.4183994, 0.3 * 0.0335828, 0.1 * 0.051871952)


@pytest.mark.parametrize(("gate", "k"), [("and", 0), ("k_of_n", 2)])
def test_an_effect_that_needs_both(gate, k):
    # Both links, 0.5 and 0.8, or the leak 0.1: P(both act | C) = 0.5 x 0.04 x 0.8 = 0.016 for a,
    # 0.08 x 0.5 x 0.8 = 0.032 for b, 0.08 x 0.5 x 0.04 x 0.8 = 0.00128 for nothing;
    # P(hot) = 0.1 + 0.9 x that: 0.1144, 0.1288, 0.101152; P(gauge) = 0.02 + 0.882 P(hot)
    knowledge = base(
        [cause("a", 6.0, leads_to={"hot": 0.5}), cause("b", 3.0, leads_to={"hot": 0.8})],
        [finding("gauge", {"yes": 0.02})],
        [effect("hot", {"yes": 0.1}, shows={"gauge": 0.9}, gate=gate, k=k)],
        model=TINY,
    )
    found = diagnosis(look("gauge", YES), knowledge=knowledge)
    assert_weights(found, 0.6 * 0.1209008, 0.3 * 0.1336016, 0.1 * 0.109216064)


@pytest.mark.parametrize(("gate", "k"), [("and", 0), ("k_of_n", 2)])
def test_an_effect_that_needs_both_and_that_another_stops(gate, k):
    # As above, and dry (background 0.1) stops it with 0.75: P(hot) times 1 - 0.75 x 0.1 = 0.925:
    # 0.10582, 0.11914, 0.0935656; P(gauge) = 0.02 + 0.882 P(hot)
    knowledge = base(
        [cause("a", 6.0, leads_to={"hot": 0.5}), cause("b", 3.0, leads_to={"hot": 0.8})],
        [finding("gauge", {"yes": 0.02})],
        [
            effect("dry", {"yes": 0.1}),
            effect("hot", {"yes": 0.1}, shows={"gauge": 0.9}, gate=gate, k=k, inhibited_by={"dry": 0.75}),
        ],
        model=TINY,
    )
    found = diagnosis(look("gauge", YES), knowledge=knowledge)
    assert_weights(found, 0.6 * 0.11333324, 0.3 * 0.12508148, 0.1 * 0.1025248592)
