"""From a network and evidence to factors: what is multiplied and summed, gates kept as sums of products.

A gate becomes a helper variable with one state a product, joined to each parent by a small factor; a gate with
few parents becomes a plain table, which has no negative cells. An observed leaf is no variable at all: its
likelihood is absorbed, and a likelihood that picks one product ("no" of a noisy-OR) falls apart into one
factor a parent and ties nothing together.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import prod
from typing import Literal

import numpy as np
import numpy.typing as npt

from diag.network.chains import chained
from diag.network.gates import Gate
from diag.network.model import Network, Node

Array = npt.NDArray[np.float64]

# A gate over parents with at most this many combinations of states is written out as a table: no helper
# variable, no negative cells, and the clique would mostly be there anyway.
DENSE_LEAF_CELLS = 16
DENSE_GATE_CELLS = 8
WIDE_LEAF_CELLS = 2**14

# What an observed gate with many parents becomes: a chain of positive tables, one positive table, or a signed sum.
# Signed sums make the smallest cliques, but where several meet they can cancel.
Leaves = Literal["chain", "table", "signed"]


@dataclass
class Factors:
    """Factors over numbered variables while they are put together.

    index: number of each network node that is a variable. cards: states of each variable, helpers included.
    unary: per variable, shape (states,). joint: (scope, array with one axis a variable of the scope).
    constant: product of the factors without variables. leaves: what observed gates with many parents become.
    """

    names: list[str] = field(default_factory=list)
    cards: list[int] = field(default_factory=list)
    index: dict[str, int] = field(default_factory=dict)
    unary: list[Array] = field(default_factory=list)
    joint: list[tuple[tuple[int, ...], Array]] = field(default_factory=list)
    constant: float = 1.0
    leaves: Leaves = "chain"

    def variable(self, name: str, states: int) -> int:
        """Add a variable and give its number."""
        self.names.append(name)
        self.cards.append(states)
        self.unary.append(np.ones(states))
        return len(self.cards) - 1

    def multiply(self, scope: tuple[int, ...], values: Array) -> None:
        """Take in one factor; axes of ``values`` in the order of ``scope``."""
        if not scope:
            self.constant *= float(values)
        elif len(scope) == 1:
            self.unary[scope[0]] = self.unary[scope[0]] * values
        else:
            self.joint.append((scope, values))


def relevant_nodes(network: Network, likelihood: Mapping[str, Array], asked: Iterable[str]) -> frozenset[str]:
    """The nodes that can matter: evidence, what is asked, and all above them."""
    return network.ancestors([*likelihood, *asked])


def build(network: Network, likelihood: Mapping[str, Array], asked: Iterable[str], leaves: Leaves = "chain") -> Factors:
    """The factors of P(all relevant nodes) x likelihood, observed leaves absorbed.

    likelihood: per observed node, shape (states,). asked: nodes that must stay variables.
    """
    asked = frozenset(asked)
    relevant = relevant_nodes(network, likelihood, asked)
    factors = Factors(leaves=leaves)
    for node in network:
        if node not in relevant:
            continue
        leaf = node not in asked and not any(child in relevant for child in network.children[node])
        if leaf:
            _absorb_leaf(factors, network, node, likelihood[node])
        else:
            _add_node(factors, network, node, likelihood.get(node))
    return factors


def _add_node(factors: Factors, network: Network, node: str, likelihood: Array | None) -> None:
    own = factors.variable(node, network.card(node))
    factors.index[node] = own
    if likelihood is not None:
        factors.multiply((own,), np.asarray(likelihood, dtype=float))
    local = network[node].local
    parents = tuple(factors.index[p] for p in network[node].parents)
    if isinstance(local, Gate) and prod(local.shape[:-1]) > DENSE_GATE_CELLS:
        helper = factors.variable(f"{node}~", local.mix.shape[1])
        factors.multiply((helper, own), local.mix.T)
        _join_parts(factors, helper, parents, local)
    else:
        factors.multiply((*parents, own), network.table(node))


def _absorb_leaf(factors: Factors, network: Network, node: str, likelihood: Array) -> None:
    local = network[node].local
    parents = tuple(factors.index[p] for p in network[node].parents)
    if not isinstance(local, Gate):
        factors.multiply(parents, local.values @ likelihood)
        return
    weights = local.mix.T @ likelihood
    products = np.flatnonzero(weights)
    if len(products) == 1:
        factors.constant *= float(weights[products[0]])
        for parent, part in zip(parents, local.parts, strict=True):
            factors.multiply((parent,), part[:, products[0]])
    elif prod(local.shape[:-1]) <= (WIDE_LEAF_CELLS if factors.leaves == "table" else DENSE_LEAF_CELLS):
        factors.multiply(parents, local.weigh(likelihood))
    elif factors.leaves != "signed":
        _absorb_chain(factors, network[node], likelihood)
    else:
        helper = factors.variable(f"{node}~", len(weights))
        factors.multiply((helper,), weights)
        _join_parts(factors, helper, parents, local)


def _absorb_chain(factors: Factors, node: Node, likelihood: Array) -> None:
    """An observed gate with many parents, positive: where several such meet, signed sums would cancel.

    The helpers of a chain are cumulative gates over two parents each, so their tables are small and positive.
    """
    *helpers, last = chained(node, most=2, link=1)
    for helper in helpers:
        assert isinstance(helper.local, Gate)
        scope = [factors.index[p] for p in helper.parents]
        factors.index[helper.id] = factors.variable(helper.id, len(helper.states))
        factors.multiply((*scope, factors.index[helper.id]), helper.local.expand())
    assert isinstance(last.local, Gate)
    factors.multiply(tuple(factors.index[p] for p in last.parents), last.local.weigh(likelihood))


def _join_parts(factors: Factors, helper: int, parents: Iterable[int], gate: Gate) -> None:
    for parent, part in zip(parents, gate.parts, strict=True):
        factors.multiply((parent, helper), part)
