"""Learning from closed cases: published EM steps, laws, and networks found again from cases drawn from them.

Source of the EM steps: Dempster, Laird, Rubin 1977, JRSS B 39, 1-38, introductory example (197 animals in four cells),
digits worked out anew from its formulas; limit (15 + sqrt(53809)) / 394.
"""

from dataclasses import replace

import numpy as np
import pytest
from oracle.knowledge import base, cause, effect, finding, fitting, look, seen

from diag.knowledge.types import Number
from diag.learn.confirmed import ClosedCase, Refused
from diag.learn.expected import Throw, expected
from diag.learn.learning import Shares, learn
from diag.learn.numbers import throws_of, weights_of, with_throws
from diag.learn.told import learnt_chances, learnt_shares
from diag.network.case_network import TARGET, compile_case
from diag.network.sampling import sample

STEPS = [0.608247422680, 0.624321050369, 0.626488879080, 0.626777322347, 0.626815632110, 0.626820719019]


def test_the_steps_of_the_animals_in_four_cells():
    """Half of them (no ``e``) lie in cell 1; the others fall to cells 2 and 3 with 1 - p, to 1 and 4 with p / 2 each.

    ``f`` shows 1 - p, ``h`` tells e for certain, or in cell 1 with odds of one half.
    """
    knowledge = base(
        [cause("a", 1.0, leads_to={"e": 0.5})],
        [finding("f", {"yes": 0.0}), finding("h", {"yes": 0.0})],
        [effect("e", {"yes": 0.0}, shows={"f": 0.5, "h": 1.0})],
    )
    cells = [((1.0, 0.0), (1.0, 0.5), 125), ((0.0, 1.0), (0.0, 1.0), 38), ((1.0, 0.0), (0.0, 1.0), 34)]
    cases = [(seen(look("f", f), look("h", h)), animals) for f, h, animals in cells]
    throw, found = Throw("f", "e", "yes"), []
    for _ in STEPS:
        counts = sum(expected(compile_case(knowledge, told), "a").throws[throw] * n for told, n in cases)
        knowledge = with_throws(knowledge, {throw: counts / counts.sum()})
        found.append(1 - throws_of(knowledge)[throw][1])
    assert found == pytest.approx(STEPS, abs=1e-11)


def closed(name, looks, cause=None, fitted=None):
    return ClosedCase(name, f"{name}.yaml", seen(*looks, fitted=fitted), cause)


def three_causes(fittings=()):
    return base(
        [cause("a", 50.0), cause("b", 30.0), cause("c", 20.0, fitted=["fan"] if fittings else ())],
        [finding("f", {"yes": 0.1})],
        fittings=fittings,
        model={"share_without_fault": 1e-9, "knowledge_worth": 100.0},
    )


def test_shares_are_a_dirichlet_posterior():
    """Worth 100: 50, 30, 20; seen 5, 3, 12: 55, 33, 32 of 120 (Gelman et al. 2013, section 3.4)."""
    told = {"a": 5, "b": 3, "c": 12}
    cases = [closed(f"{c}{i}", [], c) for c, n in told.items() for i in range(n)]
    learnt = learn(three_causes(), cases)
    assert {s.id: s.after for s in learnt_shares(learnt) if s.confirmed} == pytest.approx(
        {"a": 55 / 120, "b": 33 / 120, "c": 32 / 120}, abs=1e-9
    )
    from scipy.stats import beta

    own = next(s for s in learnt_shares(learnt) if s.id == "c")
    assert own.after_interval == pytest.approx(beta(32, 88).ppf([0.05, 0.95]), abs=1e-6)


def test_vehicles_that_lack_a_part_say_nothing_of_its_weight():
    """60 cases of vehicles without fan, half a and half b, move a to b, and leave c what it is beside them."""
    knowledge = three_causes([fitting("fan", 1.0)])
    cases = [closed(f"{i}", [], "ab"[i % 2], {"fan": False}) for i in range(60)]
    weights = weights_of(learn(knowledge, cases).after)
    assert weights["a"] / weights["b"] == pytest.approx((50 + 30) / (30 + 30) * 1.0, abs=0.02)
    assert weights["c"] == pytest.approx(20.0, abs=1e-6)


def test_a_case_not_found_counts_by_its_answer():
    """With false alarm 0.1 and nothing else the answer is the shares themselves: nothing moves."""
    learnt = learn(three_causes(), [closed(str(i), [look("f", (0.0, 1.0))]) for i in range(5)])
    assert {s.id: s.after for s in learnt_shares(learnt)} == pytest.approx(
        {s.id: s.before for s in learnt_shares(learnt)}, abs=1e-9
    )
    pointing = replace(three_causes())
    pointing = base(
        [cause("a", 50.0, shows={"f": 0.9}), cause("b", 50.0)], [finding("f", {"yes": 0.01})],
        model={"share_without_fault": 1e-9, "knowledge_worth": 100.0},
    )  # fmt: skip
    moved = learn(pointing, [closed(str(i), [look("f", (0.0, 1.0))]) for i in range(20)])
    assert weights_of(moved.after)["a"] > 55
    assert next(s for s in learnt_shares(moved) if s.id == "a").guessed > 15


def test_no_cases_change_nothing():
    knowledge = three_causes()
    learnt = learn(knowledge, [])
    assert learnt.after == knowledge
    assert learnt_chances(learnt) == []
    assert all(s.before == s.after and s.before_interval == s.after_interval for s in learnt_shares(learnt))


def test_a_strength_seen_without_anything_hidden_is_a_beta_posterior():
    """No false alarm, no other cause: the finding shows the throw. Worth 200, 0.5; seen 30 of 40."""
    knowledge = base([cause("a", 1.0, shows={"f": 0.5})], [finding("f", {"yes": 0.0})], model={"coexistence": 1e-12})
    cases = [closed(str(i), [look("f", (0.0, 1.0) if i < 30 else (1.0, 0.0))], "a") for i in range(40)]
    own = next(c for c in learnt_chances(learn(knowledge, cases)) if c.parent == "a")
    assert (own.counted, own.of, own.told) == pytest.approx((30, 40, 40), abs=1e-6)
    assert own.after == pytest.approx(130 / 240, abs=1e-9)
    from scipy.stats import beta

    assert own.after_interval == pytest.approx(beta(130, 110).ppf([0.05, 0.95]), abs=1e-6)


def small_world():
    """Two effects, hidden; a cause that shows itself; a finding with two parents."""
    return base(
        [
            cause("a", 40.0, leads_to={"e": 0.85}),
            cause("b", 25.0, leads_to={"e": 0.4, "d": 0.7}),
            cause("c", 35.0, leads_to={"d": 0.6}, shows={"h": 0.5}),
        ],
        [finding(name, {"yes": alarm}) for name, alarm in (("f", 0.05), ("g", 0.1), ("h", 0.03), ("k", 0.08))],
        [
            effect("e", {"yes": 0.02}, shows={"f": 0.8, "g": 0.6}),
            effect("d", {"yes": 0.05}, shows={"g": 0.5, "k": 0.9}),
        ],
        model={"knowledge_worth": 20.0},
    )


def vague(knowledge, random):
    """The same with every probability off, and as unsure as it is off."""
    throws = {}
    for throw, chances in throws_of(knowledge).items():
        off = random.beta(*(np.array([1 - chances[0], chances[0]]) * 30 + 0.1))
        throws[throw] = np.array([1 - off, off])
    return with_throws(knowledge, throws)


def drawn(knowledge, count, random, hidden=0.0, not_found=0.0):
    """Closed cases drawn from the network itself; each finding looked at with probability 1 - hidden."""
    case = compile_case(knowledge, seen())
    network = case.full_network()
    found = []
    while len(found) < count:
        states = sample(network, random)
        name = case.states[states[TARGET]]
        looks = [look(f, (1.0 - states[f], float(states[f]))) for f in knowledge.findings if random.random() >= hidden]
        own = name if name in knowledge.causes and random.random() >= not_found else None
        found.append(closed(f"{len(found):05}", looks, own))
    return found


def test_the_network_is_found_again_within_its_own_intervals():
    """8 learners, each with judgements of its own, 400 cases each. 90 % intervals hold the truth in 90 %, +- 6 %."""
    truth, random = small_world(), np.random.default_rng(7)
    shares = {s.id: s.before for s in learnt_shares(learn(truth, []))}
    chances = throws_of(truth)
    inside, closer, whole, strengths = 0, 0, 0, 0
    for _ in range(8):
        learnt = learn(vague(truth, random), drawn(truth, 400, random), rounds=15)
        for share in learnt_shares(learnt):
            if share.confirmed:
                whole += 1
                inside += share.after_interval[0] <= shares[share.id] <= share.after_interval[1]
        for chance in learnt_chances(learnt):
            true = chances[Throw(chance.child, chance.parent, chance.parent_state)][1]
            whole += 1
            inside += chance.after_interval[0] <= true <= chance.after_interval[1]
            strengths += 1
            closer += abs(chance.after - true) < abs(chance.before - true)
    print(f"inside: {inside} of {whole}; closer than before: {closer}")
    assert inside / whole == pytest.approx(0.9, abs=0.06)
    assert closer > 0.65 * strengths


def test_every_round_makes_the_cases_more_likely():
    """EM climbs (Dempster et al. 1977, theorem 1): here log P(cases) plus the log density of the base's own counts."""
    truth, random = small_world(), np.random.default_rng(3)
    knowledge, cases = vague(truth, random), drawn(truth, 60, random, hidden=0.3)
    cases = [case for case in cases if case.cause]
    heights = [height(knowledge, learn(knowledge, cases, rounds=n).after, cases) for n in (1, 2, 3, 4, 6, 10)]
    assert np.all(np.diff(heights) > -1e-7)
    assert heights[1] > heights[0]


def height(prior, now, cases):
    """Worked out from P(e | C) of every case; weights are left out, their part is fixed by counting."""
    from diag.learn.numbers import sizes_of

    total = sum(np.log(expected(compile_case(now, case.observations), case.cause).evidence) for case in cases)
    old, new, sizes = throws_of(prior), throws_of(now), sizes_of(prior)
    counted = {throw for case in cases for throw in expected(compile_case(now, case.observations), case.cause).throws}
    return total + sum(sizes[t] * (old[t] @ np.log(new[t])) for t in counted)


def test_twice_the_cases_narrow_every_interval():
    truth, random = small_world(), np.random.default_rng(5)
    cases = [case for case in drawn(truth, 80, random) if case.cause]
    again = [replace(case, digest=f"{case.digest}x") for case in cases]
    once, twice = (learn(truth, told) for told in (cases, cases + again))
    for one, two in zip(learnt_chances(once), learnt_chances(twice), strict=True):
        assert two.of > one.of
        assert width(two) / two.after < width(one) / one.after or width(two) < width(one)
    for one, two in zip(learnt_shares(once), learnt_shares(twice), strict=True):
        if one.confirmed and abs(one.after - two.after) < 0.05:
            assert width(two) < width(one)


def width(told):
    return told.after_interval[1] - told.after_interval[0]


def test_order_and_copies_of_cases_change_nothing():
    truth, random = small_world(), np.random.default_rng(9)
    cases = drawn(truth, 30, random, not_found=0.2)
    copy = replace(cases[0], file="zzz.yaml")
    one, other = learn(truth, cases), learn(truth, [copy, *reversed(cases)])
    assert learnt_shares(one) == learnt_shares(other)
    assert learnt_chances(one) == learnt_chances(other)
    assert [refused.file for refused in other.refused] == ["zzz.yaml"]
    assert other.cases == one.cases


def test_a_cause_that_the_vehicle_cannot_have_and_evidence_that_cannot_be_are_refused():
    knowledge = base(
        [cause("a", 1.0, fitted=["fan"]), cause("b", 1.0)],
        [finding("f", {"yes": 0.0})],
        fittings=[fitting("fan", 0.5)],
    )
    told = [
        closed("1", [], "a", {"fan": False}),
        closed("2", [look("f", (0.0, 1.0))], "b"),
        closed("3", [look("f", (0.0, 1.0))]),
        Refused("4.yaml", "because"),
    ]
    learnt = learn(knowledge, told)
    assert learnt.after == knowledge
    assert [(r.file, bool(r.why)) for r in learnt.refused] == [(f"{n}.yaml", True) for n in range(1, 5)]


def test_second_faults_taken_apart_change_little():
    truth, random = small_world(), np.random.default_rng(2)
    for case in drawn(truth, 40, random):
        if case.cause:
            network = compile_case(truth, case.observations)
            exact, apart = (expected(network, case.cause, way) for way in (False, True))
            assert apart.evidence == pytest.approx(exact.evidence, rel=0.1)
            for throw, row in exact.throws.items():
                assert apart.throws[throw] == pytest.approx(row, abs=0.05)


def test_what_no_chapter_lists_moves_only_by_cases_that_were_not_found():
    knowledge = base(
        [cause("a", 50.0, leads_to={"e": 0.9}), cause("b", 40.0)],
        [finding("f", {"yes": 0.05})],
        [effect("e", {"yes": 0.01}, shows={"f": 0.9}, residual=10.0)],
    )
    found = learn(knowledge, [closed(str(i), [], "a") for i in range(100)])
    before, after = ({s.id: getattr(s, when) for s in learnt_shares(found)} for when in ("before", "after"))
    assert after["unlisted_e"] == pytest.approx(before["unlisted_e"], abs=1e-9)
    assert after["nothing_wrong"] == pytest.approx(before["nothing_wrong"], abs=1e-9)
    assert after["a"] > before["a"] + 0.1
    lost = learn(knowledge, [closed(str(i), [look("f", (1.0, 0.0))]) for i in range(100)])
    assert {s.id: s.after for s in learnt_shares(lost)}["nothing_wrong"] > before["nothing_wrong"]


def test_a_range_counts_for_more_where_it_is_narrow():
    knowledge = base([cause("a", 1.0, shows={"f": 0.5})], [finding("f", {"yes": 0.0})])
    own = knowledge.causes["a"]
    link = own.shows[0]
    moved = []
    for low, high in ((0.45, 0.55), (0.2, 0.8)):
        strengths = {"yes": {"yes": replace(link.strengths["yes"]["yes"], low=low, high=high)}}
        told = replace(knowledge, causes={"a": replace(own, shows=(replace(link, strengths=strengths),))})
        assert isinstance(told.causes["a"].shows[0].strengths["yes"]["yes"], Number)
        cases = [closed(str(i), [look("f", (0.0, 1.0))], "a") for i in range(10)]
        moved.append(next(c.after for c in learnt_chances(learn(told, cases)) if c.parent))
    assert 0.5 < moved[0] < 0.52 < 0.7 < moved[1]


def test_shares_of_nobody_are_those_of_an_empty_case():
    knowledge = three_causes([fitting("fan", 0.4)])
    told = learn(knowledge, [])
    case = compile_case(knowledge, seen())
    shares = Shares(knowledge, told.tally)
    assert dict(zip(shares.names, shares.share(shares.before), strict=True)) == pytest.approx(
        dict(zip(case.states, case.prior, strict=True))
    )
