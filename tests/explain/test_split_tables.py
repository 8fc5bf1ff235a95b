"""Tables that fall apart, and tables that must not."""

from __future__ import annotations

from itertools import chain

import numpy as np
import pytest
from oracle.meaning import max_table
from oracle.small_networks import states, yes_no

from diag.explain.split_tables import Factor, small_factors
from diag.network.model import Network, Node, Table

NUMBERS = np.random.default_rng(11)
NO, YES = np.array([1.0, 0.0]), np.array([0.0, 1.0])
PARENTS = tuple(f"p{i}" for i in range(5))


def split(nodes: list[Node], told: dict[str, np.ndarray]) -> list[Factor]:
    network = Network(nodes)
    tables = {n.id: Factor((n.id, *n.parents), np.moveaxis(network.table(n.id), -1, 0)) for n in network.values()}
    return small_factors(tables, told, "target")


def summed(factors: list[Factor], kept: str = "target") -> np.ndarray:
    """Everything but one variable summed out by numpy."""
    names = {name: i for i, name in enumerate(dict.fromkeys(chain.from_iterable(f.scope for f in factors)))}
    operands = chain.from_iterable((f.values, [names[v] for v in f.scope]) for f in factors)
    return np.einsum(*operands, [names[kept]], optimize="greedy")


def family(child: np.ndarray, states_of_child: int = 2) -> list[Node]:
    """Five yes-or-no parents of one child, the first of them hanging on the target, and what shows of the child."""
    roots = [yes_no(p, NUMBERS.random()) for p in PARENTS[1:]]
    names = tuple(f"s{i}" for i in range(states_of_child))
    shown = yes_no("shown", NUMBERS.random(states_of_child).tolist(), "child")
    node = Node("child", names, PARENTS, Table(child))
    return [states("target", [0.2, 0.5, 0.3]), yes_no("p0", [0.1, 0.7, 0.4], "target"), *roots, node, shown]


def widest(factors: list[Factor]) -> int:
    return max(len(factor.scope) for factor in factors)


def expected(nodes: list[Node], child: np.ndarray, shown: np.ndarray) -> np.ndarray:
    """P(target, child told by a likelihood) from the whole table."""
    roots = [node.local.values for node in nodes[2:6]]
    return np.einsum("t,ta,b,c,d,e,abcdex,x->t", *(nodes[i].local.values for i in (0, 1)), *roots, child, shown)


def noisy_max_table(degrees: int) -> np.ndarray:
    rows = [np.stack([np.eye(degrees)[0], NUMBERS.dirichlet(np.ones(degrees))]) for _ in PARENTS]
    return max_table(rows, NUMBERS.dirichlet(np.ones(degrees)))


def test_observed_no_of_a_noisy_or_leaves_single_variables():
    table = noisy_max_table(2)
    nodes = family(table)
    factors = split(nodes, {"child": NO})
    assert max(len(set(f.scope) - {"target"}) for f in factors) == 1
    assert summed(factors) == pytest.approx(expected(nodes, table, NO), rel=1e-13)


def test_observed_yes_stays_one_table_without_signs():
    table = noisy_max_table(2)
    nodes = family(table)
    factors = split(nodes, {"child": YES})
    assert widest(factors) == len(PARENTS)
    assert min(f.values.min() for f in factors) >= 0
    assert summed(factors) == pytest.approx(expected(nodes, table, YES), rel=1e-13)


@pytest.mark.parametrize("degrees", [2, 3])
def test_hidden_noisy_max_falls_apart_and_a_rounded_one_does_not(degrees):
    """One cell in a thousand million off is another table: it stays whole, and both answers are right."""
    table = noisy_max_table(degrees)
    other = table.copy()
    other[1, 1, 1, 1, 1, :2] += [1e-9, -1e-9]
    for child, width in ((table, 2), (other, len(PARENTS) + 1)):
        nodes = family(child, degrees)
        shown = nodes[-1].local.values[:, 1]
        factors = split(nodes, {"shown": YES})
        assert widest(factors) == width
        assert summed(factors) == pytest.approx(expected(nodes, child, shown), rel=1e-13)


def test_hidden_and_falls_apart_from_above():
    """P(yes) is a product where nothing but all parents together bring the child about."""
    acts = NUMBERS.random((5, 2))
    yes = np.einsum("a,b,c,d,e->abcde", *acts)
    nodes = family(np.stack([1 - yes, yes], axis=-1))
    factors = split(nodes, {"shown": YES})
    assert widest(factors) == 2
    assert summed(factors) == pytest.approx(
        expected(nodes, nodes[6].local.values, nodes[-1].local.values[:, 1]), rel=1e-13
    )


def test_barren_nodes_are_left_out():
    factors = split(family(noisy_max_table(2)), {"p0": YES})
    assert set(chain.from_iterable(f.scope for f in factors)) == {"target"}


def test_a_copy_between_two_that_share_more_is_kept():
    """By hand: b is always a, and "both" looks at the two of them: yes 0.9 for no-no, 0.2 for yes-yes."""
    nodes = [
        states("target", [0.5, 0.5]),
        yes_no("a", [0.25, 0.75], "target"),
        yes_no("link", [0.0, 1.0], "a"),
        yes_no("b", [0.0, 1.0], "link"),
        yes_no("both", [[0.9, 0.4], [0.3, 0.2]], "a", "b"),
    ]
    found = summed(split(nodes, {"both": YES}))
    assert found == pytest.approx([0.5 * (0.75 * 0.9 + 0.25 * 0.2), 0.5 * (0.25 * 0.9 + 0.75 * 0.2)], rel=1e-14)


@pytest.mark.parametrize("last", ["a", "z"])
def test_a_copy_of_the_target_does_not_take_its_place(last):
    """By hand: the last in the row is always the target, and seen is yes with 0.1 or 0.6."""
    nodes = [
        states("target", [0.5, 0.5]),
        yes_no("copy", [0.0, 1.0], "target"),
        yes_no(last, [0.0, 1.0], "copy"),
        yes_no("seen", [0.1, 0.6], last),
    ]
    assert summed(split(nodes, {"seen": YES})) == pytest.approx([0.05, 0.3], rel=1e-14)
