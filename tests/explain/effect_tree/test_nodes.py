"""The tree as people see it, by hand; and every effect of the shipped base."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from oracle.knowledge import base, cause, effect, finding, look, seen
from oracle.shipped_cases import random_case, shipped

from diag.explain.effect_tree import Nodes, effect_tree, noisy_tree
from diag.explain.fault_tree import TreeTooLarge
from diag.explain.fault_tree.branches import Fold, Node, fitting, grow, likely_path, rows, walk
from diag.explain.fault_tree.compile import compile_tree
from diag.explain.fault_tree.probability import given_each, probability
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis

NOTHING = seen()


def small():
    """Two causes of a leak, one of them of weak flow too; both make it hot, which warps the head where it boiled."""
    hot = {"yes": {"hot": 0.5, "boiled": 0.25}}
    return base(
        [
            cause("hose", 4.0, {"leak": 0.9}),
            cause("pump", 2.0, {"leak": 0.5, "flow": 0.8}),
        ],
        [finding("puddle", {"yes": 0.02})],
        [
            effect("leak", {"yes": 0.01}, {"heat": hot}, {"puddle": 0.7}),
            effect("flow", {}, {"heat": hot}),
            effect("heat", {}, {"warped": {"boiled": {"yes": 0.6}}}, states=("none", "hot", "boiled")),
            effect("warped", {}),
        ],
        model={"coexistence": 0.1, "share_without_fault": 4.0},
    )


def branches(knowledge, tree, fold=Fold()):  # noqa: B008 - frozen
    nodes = Nodes(tree, knowledge)
    return grow(nodes.top, nodes.inputs, fold)


def test_share_is_the_probability_that_the_link_fired_given_the_effect():
    """By hand: weights 4, 2 and 4 for nothing wrong; a second fault has 0.1 x 4/6 and 0.1 x 2/6."""
    knowledge = small()
    top = branches(knowledge, effect_tree(knowledge, NOTHING, "leak"))
    share = {one.node.id: one.share for one in top.inputs}
    q_hose, q_pump = 0.1 * 4 / 6, 0.1 * 2 / 6

    def leaks(hose: float, pump: float) -> float:
        return 1 - (1 - 0.9 * hose) * (1 - 0.5 * pump) * (1 - 0.01)

    leak = 0.4 * leaks(1, q_pump) + 0.2 * leaks(q_hose, 1) + 0.4 * leaks(q_hose, q_pump)
    assert top.node.prior == pytest.approx(leak, rel=1e-12)
    assert share["hose"] == pytest.approx(0.9 * (0.4 + 0.6 * q_hose) / leak, rel=1e-12)
    assert share["pump"] == pytest.approx(0.5 * (0.2 + 0.8 * q_pump) / leak, rel=1e-12)
    assert share[">leak"] == pytest.approx(0.01 / leak, rel=1e-12)
    assert [one.node.id for one in top.inputs] == ["hose", "pump", ">leak"]
    assert [one.on_path for one in top.inputs] == [True, False, False]


def test_only_the_degree_that_matters_is_followed_and_what_is_shared_is_opened_once():
    knowledge = small()
    top = branches(knowledge, effect_tree(knowledge, NOTHING, "warped"))
    (heat,) = top.inputs
    assert (heat.node.id, heat.node.state) == ("heat", "boiled")
    seen_there = [(one.node.id, one.shared, bool(one.inputs)) for one in heat.inputs]
    assert seen_there == [("leak", False, True), ("flow", False, True)]
    assert [node.id for node in likely_path(top)] == ["warped", "heat", "leak", "hose"]
    hot = branches(knowledge, effect_tree(knowledge, NOTHING, "heat"))
    assert hot.node.state == "hot or worse"


def test_now_is_after_what_was_recorded_and_before_is_not():
    knowledge = small()
    told = seen(look("puddle", (0.0, 1.0)))
    tree = effect_tree(knowledge, told, "leak")
    assert tree.given
    assert tree.prior == effect_tree(knowledge, NOTHING, "leak").probability
    # puddle = yes: 1 - 0.98 x 0.3 with a leak, 0.02 without (Bayes by hand)
    with_leak, without = 1 - 0.98 * 0.3, 0.02
    expected = tree.prior * with_leak / (tree.prior * with_leak + (1 - tree.prior) * without)
    assert tree.probability == pytest.approx(expected, rel=1e-12)


def test_an_effect_that_nothing_brings_about_has_an_empty_answer():
    knowledge = base([cause("idle", 1.0)], [finding("f", {"yes": 0.1})], [effect("never", {})])
    tree = effect_tree(knowledge, NOTHING, "never")
    assert (tree.probability, tree.sufficient.cut_sets, tree.importance, tree.sufficient.background) == (
        0.0,
        (),
        (),
        0.0,
    )


def test_gates_and_what_stops_them_are_told():
    knowledge = base(
        [cause("a", 1.0, {"both": 0.9}), cause("b", 1.0, {"both": 0.8}), cause("c", 1.0, {"stops": 0.5})],
        [finding("f", {"yes": 0.1})],
        [effect("both", {}, gate="and", inhibited_by={"stops": 0.9}), effect("stops", {})],
    )
    tree = effect_tree(knowledge, NOTHING, "both")
    node = branches(knowledge, tree).node
    assert (node.gate, node.stopped_by) == ("and", ("stops",))
    assert [one.causes for one in tree.sufficient.cut_sets] == [("a", "b")]


def numbered(shares):
    """A tree of one gate over causes with these shares."""
    top = Node("t", "t", "t", "effect", 1.0, 1.0, gate="or")
    return top, lambda _: [(Node(f"c{i}", f"c{i}", f"c{i}", "cause", s, s), s) for i, s in enumerate(shares)]


def test_the_improbable_is_folded_and_counted_the_likely_path_never():
    top, inputs = numbered([0.5, 0.3, 0.04, 0.01])
    branch = grow(top, inputs, Fold(0.05))
    assert ([one.node.id for one in branch.inputs], branch.folded) == (["c0", "c1"], 2)
    branch = grow(top, inputs, Fold(0.9))
    assert ([one.node.id for one in branch.inputs], branch.folded) == (["c0"], 3)
    assert [(row.level, row.folded) for row in rows(branch)] == [(0, 0), (1, 0), (1, 3)]


def test_folds_until_it_fits():
    top, inputs = numbered([1 / (i + 2) for i in range(30)])
    branch, used = fitting(top, inputs, 10, Fold())
    assert len(list(rows(branch))) == 10
    assert all(one.share >= used.least for one in branch.inputs)
    assert branch.folded + len(branch.inputs) == 30


def test_depth_stops_and_says_so():
    knowledge = small()
    top = branches(knowledge, effect_tree(knowledge, NOTHING, "warped"), Fold(depth=2))
    (heat,) = top.inputs
    assert [(one.node.id, one.deeper, one.inputs) for one in heat.inputs] == [("leak", True, ()), ("flow", True, ())]


@pytest.mark.parametrize("id", sorted(shipped().effects))
def test_every_effect_of_the_shipped_base(id):
    """The network of split links says what the network itself says; where the diagram fits, it says so too."""
    case = compile_case(shipped(), NOTHING)
    expected = 1 - whole_base().effects()[id][0]
    tree = effect_tree(shipped(), NOTHING, id)
    assert tree.probability == pytest.approx(expected, rel=1e-9)
    try:
        noisy = noisy_tree(case, id)
        function = compile_tree(noisy, limit=10_000)
    except TreeTooLarge:
        return
    chance = noisy.chances(function.order)
    nobody = probability(function, chance)
    given = dict(zip(function.order, given_each(function, chance)[0].tolist(), strict=True))
    found = sum(p * given.get(c, nobody) for c, p in zip(case.states, case.prior, strict=True))
    assert found == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("id", ["head_warped", "no_start"])
def test_a_great_effect_of_the_shipped_base_fits_on_a_page(id):
    nodes = Nodes(effect_tree(shipped(), NOTHING, id), shipped())
    branch, _ = fitting(nodes.top, nodes.inputs, 40, Fold())
    assert 20 < len(list(rows(branch))) <= 40
    assert all(0 <= one.share <= 1 + 1e-9 for one in walk(branch))


@cache
def whole_base() -> Diagnosis:
    return Diagnosis(compile_case(shipped(), NOTHING))


@pytest.mark.parametrize("seed", [1, 2])
def test_a_case_of_the_shipped_base(seed):
    case = random_case(shipped(), seed, findings=8)
    tree = effect_tree(shipped(), case.observations, "head_warped")
    assert tree.probability == pytest.approx(Diagnosis(case).effects()["head_warped"][1], rel=1e-9)
    before = replace(case.observations, looks=(), history=(), gone=frozenset())
    assert tree.prior == pytest.approx(Diagnosis(compile_case(shipped(), before)).effects()["head_warped"][1], rel=1e-9)
    warped = Diagnosis(replace(case, likelihood={**case.likelihood, "head_warped": np.array([0.0, 1.0])}))
    expected = {one.cause: warped.also_present()[one.cause] for one in tree.importance}
    assert {one.cause: one.given_top for one in tree.importance} == pytest.approx(expected, abs=1e-9)
    assert len(expected) > 50
