"""The fault tree of an effect against full enumeration of the case's network, on random bases and cases."""

from dataclasses import dataclass, replace
from itertools import combinations
from math import prod

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from oracle.enumeration import Enumeration
from oracle.random_cases import cases, knowledge_bases

from diag.explain.effect_tree import EffectTree, effect_tree, noisy_tree
from diag.explain.fault_tree.compile import compile_tree
from diag.explain.fault_tree.probability import given_each, probability
from diag.knowledge.types import Knowledge
from diag.network.case_network import CaseNetwork, compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.observations import Observations

CLOSE = 1e-9
EXAMPLES = settings(max_examples=60, deadline=None, derandomize=True, database=None)
CELLS = 2**17


@st.composite
def bases(draw: st.DrawFn) -> Knowledge:
    """Random bases in which k-of-n gates want more than one input too."""
    knowledge = draw(knowledge_bases())
    effects = {id: replace(effect, k=draw(st.integers(1, 3))) for id, effect in knowledge.effects.items()}
    return replace(knowledge, effects=effects)


@dataclass(frozen=True)
class Judged:
    """The tree of one effect at one degree, and the same case enumerated."""

    tree: EffectTree
    slow: Enumeration
    case: CaseNetwork

    def weight(self, faults: dict[str, int], there: bool = True) -> float:
        """P(faults as told, effect there, e)."""
        names = list(faults)
        table = self.slow.weight([*names, self.tree.effect])
        return float(table[tuple(faults[name] for name in names)][self.tree.degree if there else 0 :].sum())


@st.composite
def judged_trees(draw: st.DrawFn) -> Judged:
    knowledge = draw(bases())
    observations = draw(cases(knowledge))
    effect = draw(st.sampled_from(list(knowledge.effects)))
    degree = draw(st.integers(1, len(knowledge.effects[effect].states) - 1))
    case = compile_case(knowledge, observations)
    network, told = case.full_network(), case.full_evidence()
    assume(prod(np.count_nonzero(told.get(node, np.ones(network.card(node)))) for node in network) <= CELLS)
    assume(case.causes)
    return Judged(effect_tree(knowledge, observations, effect, degree), Enumeration(network, told), case)


@EXAMPLES
@given(st.data())
def test_tree_of_links_and_leaks_has_the_probability_of_the_network(data):
    """P(top) = sum over c of P(C = c) P(top | c), the diagram's answer, is the marginal of the network."""
    knowledge = data.draw(bases())
    case = compile_case(knowledge, Observations((), (), {}, frozenset(), None, {}))
    for id, chances in Diagnosis(case).effects().items():
        for degree in range(1, len(chances)):
            tree = noisy_tree(case, id, degree)
            function = compile_tree(tree)
            chance = tree.chances(function.order)
            nobody = probability(function, chance)
            given_cause = dict(zip(function.order, given_each(function, chance)[0].tolist(), strict=True))
            found = case.prior[-1] * nobody
            found += sum(p * given_cause.get(c, nobody) for c, p in zip(case.causes, case.prior, strict=False))
            assert found == pytest.approx(chances[degree:].sum(), rel=1e-10, abs=1e-14)


@EXAMPLES
@given(judged_trees())
def test_probability_before_and_now(judged):
    tree, slow = judged.tree, judged.slow
    assert tree.probability == pytest.approx(judged.weight({}) / slow.probability_of_evidence(), rel=CLOSE, abs=1e-14)
    before = compile_case(judged.case.knowledge, replace(judged.case.observations, looks=(), history=()))
    assert tree.prior == pytest.approx(Diagnosis(before).effects()[tree.effect][tree.degree :].sum(), rel=CLOSE)


@EXAMPLES
@given(judged_trees())
def test_importance_is_of_the_case(judged):
    tree, all_of_it = judged.tree, judged.slow.probability_of_evidence()
    q = judged.weight({}) / all_of_it
    assume(q > 1e-9)
    sets = can_bring_about(judged)
    for one in tree.importance:
        there, absent = (judged.weight({one.cause: s}, there=False) for s in (1, 0))
        with_it, without = (judged.weight({one.cause: 1}) / there, judged.weight({one.cause: 0}) / absent)
        assert one.birnbaum == pytest.approx(with_it - without, abs=CLOSE)
        assert one.criticality == pytest.approx((with_it - without) * there / all_of_it / q, abs=CLOSE)
        assert one.raw == pytest.approx(with_it / q, rel=CLOSE)
        assert one.rrw == (pytest.approx(q / without, rel=1e-7) if without > 0 else None)
        assert one.given_top == pytest.approx(with_it * there / all_of_it / q, abs=CLOSE)
        union = chance_of_some(judged, [s for s in sets if one.cause in s])
        assert one.fussell_vesely == pytest.approx(union / all_of_it / q, abs=CLOSE)


@EXAMPLES
@given(judged_trees())
def test_cut_sets_are_the_smallest_sets_of_causes_that_can_bring_it_about(judged):
    tree, all_of_it = judged.tree, judged.slow.probability_of_evidence()
    expected = can_bring_about(judged)
    assert {frozenset(s.causes) for s in tree.sufficient.cut_sets} == set(expected)
    for one in tree.sufficient.cut_sets:
        assert one.alone == pytest.approx(expected[frozenset(one.causes)], rel=CLOSE)
        now = judged.weight(dict.fromkeys(one.causes, 1)) / all_of_it
        assert one.probability == pytest.approx(now, abs=CLOSE)
    listed = [one.probability for one in tree.sufficient.cut_sets]
    assert listed == sorted(listed, reverse=True)
    assert tree.sufficient.left_out == 0


@EXAMPLES
@given(judged_trees())
def test_background_is_the_effect_without_any_cause(judged):
    none = judged.weight(dict.fromkeys(judged.case.causes, 0)) / judged.slow.probability_of_evidence()
    assert judged.tree.sufficient.background == pytest.approx(none, abs=CLOSE)


def can_bring_about(judged: Judged) -> dict[frozenset, float]:
    """P(effect | exactly these causes, no leak anywhere), of every smallest set of causes where it is above 0."""
    knowledge = judged.case.knowledge
    silent = {id: replace(effect, leak={}) for id, effect in knowledge.effects.items()}
    bare = compile_case(replace(knowledge, effects=silent), judged.case.observations).faults
    causes = judged.case.causes
    found: dict[frozenset, float] = {}
    for n in range(len(causes) + 1):
        for some in map(frozenset, combinations(causes, n)):
            if not any(smaller <= some for smaller in found):
                told = {c: "yes" if c in some else "no" for c in causes}
                kept = [bare[id] for id in bare if id in bare.ancestors([judged.tree.effect, *causes])]
                chance = Enumeration(type(bare)(kept), told).posterior(judged.tree.effect)[judged.tree.degree :].sum()
                if chance > 1e-12:
                    found[some] = float(chance)
    found.pop(frozenset(), None)
    return found


def chance_of_some(judged: Judged, sets: list[frozenset]) -> float:
    """P(all of one of the sets are there, effect, e)."""
    causes = list(judged.case.causes)
    table = judged.slow.weight([*causes, judged.tree.effect])[..., judged.tree.degree :].sum(-1)
    states = (dict(zip(causes, index, strict=True)) for index in np.ndindex(*table.shape))
    return float(
        sum(table[tuple(present.values())] for present in states if any(all(present[c] for c in some) for some in sets))
    )
