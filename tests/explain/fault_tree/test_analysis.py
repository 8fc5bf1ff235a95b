"""Fault trees against all combinations of events in exact fractions, and against another BDD library (dd)."""

from fractions import Fraction
from itertools import pairwise, product
from math import prod

import pytest
from dd.autoref import BDD
from hypothesis import given, settings
from hypothesis import strategies as st
from oracle.fault_trees import Enumerated, trees

from diag.explain.fault_tree import BasicEvent, FaultTree, FaultTreeError, TreeGate, TreeTooLarge, analyse_tree
from diag.explain.fault_tree.compile import compile_tree
from diag.explain.fault_tree.cut_sets import minimal_cut_sets

DIGITS = 1e-12  # relative: only positive terms are added, so the small ones keep their digits
EXAMPLES = settings(max_examples=100, deadline=None, derandomize=True, database=None)


def ratio(over: Fraction, under: Fraction) -> float | None:
    return float(over / under) if under else None


@EXAMPLES
@given(trees())
def test_probability_and_importance(tree):
    slow, found = Enumerated(tree), analyse_tree(tree)
    total = slow.chance(slow.failing)
    assert found.probability == pytest.approx(float(total), rel=DIGITS, abs=0)
    cut_sets = slow.minimal()
    for one in found.importance:
        with_it, without = (slow.chance(slow.failing, {one.cause: value}) for value in (1, 0))
        q = Fraction(tree.events[one.cause].probability)
        union = slow.chance(slow.including([some for some in cut_sets if one.cause in some]))
        expected = {
            "birnbaum": float(with_it - without),
            "criticality": ratio((with_it - without) * q, total),
            "fussell_vesely": ratio(union, total),
            "raw": ratio(with_it, total),
            "rrw": ratio(total, without),
            "given_top": ratio(with_it * q, total),
        }
        for measure, value in expected.items():
            close = None if value is None else pytest.approx(value, rel=DIGITS, abs=0)
            assert getattr(one, measure) == close, measure


@EXAMPLES
@given(trees())
def test_minimal_cut_sets_the_most_probable_first(tree):
    slow, found = Enumerated(tree), analyse_tree(tree).cut_sets
    expected = {some: prod(tree.events[id].probability for id in some) for some in slow.minimal()}
    assert {frozenset(s.events): s.probability for s in found.likeliest} == pytest.approx(expected, rel=DIGITS, abs=0)
    listed = [s.probability for s in found.likeliest]
    assert all(a >= b * (1 - DIGITS) for a, b in pairwise(listed))
    assert (found.left_out, found.left_out_sum) == (0, 0.0)
    assert found.rare_event_sum == pytest.approx(sum(expected.values()), rel=DIGITS, abs=0)


@EXAMPLES
@given(trees(), st.integers(0, 3))
def test_what_is_left_out_of_the_cut_sets_is_told(tree, limit):
    every, some = analyse_tree(tree).cut_sets, analyse_tree(tree, listed=limit).cut_sets
    assert some.likeliest == every.likeliest[:limit]
    assert some.left_out == len(every.likeliest[limit:])
    rest = sum(s.probability for s in every.likeliest[limit:])
    assert some.left_out_sum == pytest.approx(rest, rel=DIGITS, abs=0)


@EXAMPLES
@given(trees(kinds=("or", "and", "k_of_n", "not")))
def test_trees_with_not_have_a_probability_and_no_cut_sets(tree):
    slow, found = Enumerated(tree), analyse_tree(tree)
    assert found.probability == pytest.approx(float(slow.chance(slow.failing)), rel=DIGITS, abs=1e-15)
    assert (found.cut_sets is None) == (not tree.coherent)
    assert bool(found.cannot) == (not tree.coherent)
    for one in found.importance:
        with_it, without = (slow.chance(slow.failing, {one.cause: value}) for value in (1, 0))
        assert one.birnbaum == pytest.approx(float(with_it - without), abs=1e-12)


def dd_function(tree: FaultTree, bdd: BDD):
    """The top of a tree in dd, each gate as an expression written out (k of n: all choices of k)."""
    functions = {id: bdd.var(id) for id in tree.events}
    for id in tree.below:
        if id in tree.gates:
            gate = tree.gates[id]
            needed = {"or": 1, "k_of_n": gate.k}.get(gate.kind, len(gate.inputs))
            found = bdd.false
            for chosen in product((0, 1), repeat=len(gate.inputs)):
                if sum(chosen) == needed:
                    term = bdd.true
                    for other, taken in zip(gate.inputs, chosen, strict=True):
                        term = term & functions[other] if taken else term
                    found = found | term
            functions[id] = found
    return functions[tree.top]


def dd_chance(bdd: BDD, node, tree: FaultTree) -> float:
    """Shannon expansion over dd's nodes; dd has complemented edges."""
    if node == bdd.true or node == bdd.false:
        return float(node == bdd.true)
    q = tree.events[node.var].probability
    value = q * dd_chance(bdd, node.high, tree) + (1 - q) * dd_chance(bdd, node.low, tree)
    return 1 - value if node.negated else value


@EXAMPLES
@given(trees())
def test_dd_is_of_the_same_opinion(tree):
    """The same function, and the same probability of it."""
    function = compile_tree(tree)
    bdd = BDD()
    bdd.configure(reordering=False)
    bdd.declare(*function.order)
    bdd.declare(*(id for id in tree.events if id not in function.order))
    theirs = dd_function(tree, bdd)
    assert analyse_tree(tree).probability == pytest.approx(dd_chance(bdd, theirs, tree), abs=1e-12)
    assert dd_from_ours(function, bdd) == theirs


def dd_from_ours(function, bdd: BDD):
    """Our diagram, node by node, in dd."""
    diagram = function.diagram
    found = {0: bdd.false, 1: bdd.true}
    for node in diagram.below(function.root):
        event = bdd.var(function.order[diagram.level[node]])
        found[node] = bdd.ite(event, found[diagram.high[node]], found[diagram.low[node]])
    return found[function.root]


def test_every_digit_at_1e_9():
    """Two of three at 1e-9: 3q^2 - 2q^3, Birnbaum 2q - 2q^2; by hand."""
    q = 1e-9
    tree = FaultTree("t", {"t": TreeGate("k_of_n", ("a", "b", "c"), 2)}, {id: BasicEvent(q) for id in "abc"})
    found = analyse_tree(tree)
    assert found.probability == pytest.approx(3 * q**2 - 2 * q**3, rel=1e-15, abs=0)
    assert found.importance[0].birnbaum == pytest.approx(2 * q * (1 - q), rel=1e-15, abs=0)


def wide_vote(n: int) -> FaultTree:
    """n pairs in series, the pairs' partners far apart in every depth-first order: the diagram doubles with each."""
    gates = {f"or{i}": TreeGate("or", (f"a{i}", f"b{(i * 7 + 3) % n}", f"a{(i * 5 + 1) % n}_")) for i in range(n)}
    gates |= {f"and{i}": TreeGate("and", (f"a{i}", f"a{i}_", f"b{(i * 11) % n}")) for i in range(n)}
    gates["x"] = TreeGate("k_of_n", tuple(f"or{i}" for i in range(n)), n // 2)
    gates["y"] = TreeGate("k_of_n", tuple(f"and{i}" for i in range(n)), n // 3)
    gates["t"] = TreeGate("and", ("x", "y"))
    names = [f"{s}{i}{u}" for i in range(n) for s, u in (("a", ""), ("b", ""), ("a", "_"))]
    return FaultTree("t", gates, {id: BasicEvent(0.1) for id in names})


def test_too_large_is_refused_with_a_sentence():
    with pytest.raises(TreeTooLarge, match=r"more than \d+ nodes.*Ask for a gate further down"):
        analyse_tree(wide_vote(60))


def test_a_deep_and_wide_tree_is_no_trouble():
    """3000 gates in a chain, each with an event of its own: 1 - (1 - q)^n, by hand."""
    gates = {f"g{i}": TreeGate("or", (f"e{i}", f"g{i + 1}")) for i in range(2999)}
    gates["g2999"] = TreeGate("or", ("e2999",))
    tree = FaultTree("g0", gates, {f"e{i}": BasicEvent(1e-7) for i in range(3000)})
    function = compile_tree(tree)
    family = minimal_cut_sets(function, [1e-7] * 3000)
    assert family.listed(5).left_out == 2995
    assert analyse_tree(tree.at("g2900")).probability == pytest.approx(1 - (1 - 1e-7) ** 100, rel=1e-8)


def test_cut_sets_too_many_to_work_out_leave_the_rest_of_the_answer():
    tree = wide_vote(7)
    nodes = len(compile_tree(tree).diagram.level)
    found = analyse_tree(tree, limit=nodes)
    assert found.cut_sets is None
    assert "cut sets could not be worked out" in found.cannot[0]
    assert found.probability == analyse_tree(tree).probability


@pytest.mark.parametrize(
    ("gates", "says"),
    [
        ({"t": TreeGate("or", ("a", "missing"))}, "no gate or event 'missing'"),
        ({"t": TreeGate("or", ("a", "a"))}, "named twice"),
        ({"t": TreeGate("or", ())}, "needs an input"),
        ({"t": TreeGate("k_of_n", ("a", "b"), 3)}, "between 1 and the number of inputs"),
        ({"t": TreeGate("inhibit", ("a",))}, "one input and one condition"),
        ({"t": TreeGate("not", ("a", "b"))}, "one input"),
        ({"t": TreeGate("or", ("a", "u")), "u": TreeGate("or", ("t",))}, "among its own inputs"),
        ({"t": TreeGate("or", ("a",)), "a": TreeGate("or", ("b",))}, "both a gate and a basic event"),
    ],
)
def test_what_is_no_tree_is_refused(gates, says):
    with pytest.raises(FaultTreeError, match=says):
        FaultTree("t", gates, {"a": BasicEvent(0.1), "b": BasicEvent(0.1)})


def test_an_event_with_no_probability_is_refused():
    with pytest.raises(FaultTreeError, match="no probability"):
        FaultTree("t", {"t": TreeGate("or", ("a",))}, {"a": BasicEvent(1.5)})
