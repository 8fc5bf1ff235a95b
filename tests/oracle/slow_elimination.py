"""A second engine, the plain way: variables summed out one after the other, in numbers of 64 bits of mantissa.

No clique tree, no probes, no absorbed leaf: every observed node is a variable with a likelihood. Gates are sums of
products with a helper variable, as they must be to fit at all; what their signs cost is seen against the longer
numbers. Derivatives of P(e) by the prior of a root give P(e, root) for all roots at once (Darwiche 2003, A
differential approach to inference in Bayesian networks, JACM 50).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from math import prod

import numpy as np

from diag.network.gates import Gate
from diag.network.model import Network

Number = np.longdouble


@dataclass(frozen=True)
class Factor:
    """values: one axis a variable of the scope, then one for the columns of evidence (1: the same in all)."""

    scope: tuple[str, ...]
    values: np.ndarray


@dataclass(frozen=True)
class Step:
    """What was multiplied, which variable was summed out, and where the sum went."""

    taken: tuple[int, ...]
    variable: str
    made: int


def root_weights(
    network: Network,
    told: Mapping[str, np.ndarray],
    roots: Sequence[str],
    tried: Mapping[str, np.ndarray] | None = None,
) -> np.ndarray:
    """P(root, e) of two-state roots, shape (roots, 2, columns).

    told: likelihood per node, shape (states,). tried: further ones, one column an outcome, shape (states, columns).
    """
    factors = _factors(network, told, tried or {}, roots)
    steps = _eliminate(factors)
    slopes = _slopes(factors, steps)
    columns = max(factor.values.shape[-1] for factor in factors)
    found = np.zeros((len(roots), 2, columns), dtype=Number)
    for place, root in enumerate(roots):
        found[place] = factors[place].values * slopes[place]
        assert factors[place].scope == (root,)
    return found


def _factors(
    network: Network, told: Mapping[str, np.ndarray], tried: Mapping[str, np.ndarray], roots: Sequence[str]
) -> list[Factor]:
    """The priors of the roots first; then all other nodes that matter."""
    factors = [_factor((root,), network.table(root)) for root in roots]
    for node in network.ancestors([*told, *tried, *roots]) - set(roots):
        factors += _of_node(network, node)
    factors += [_factor((node,), likelihood) for node, likelihood in told.items()]
    return factors + [Factor((node,), np.asarray(rows, dtype=Number)) for node, rows in tried.items()]


def _of_node(network: Network, node: str) -> Iterable[Factor]:
    parents, local = network[node].parents, network[node].local
    if not isinstance(local, Gate):
        return [_factor((*parents, node), local.values)]
    helper = f"{node}~products"
    parts = zip(parents, local.parts, strict=True)
    return [_factor((node, helper), local.mix), *(_factor((parent, helper), part) for parent, part in parts)]


def _factor(scope: tuple[str, ...], values: np.ndarray) -> Factor:
    return Factor(scope, np.asarray(values, dtype=Number)[..., None])


def _eliminate(factors: list[Factor]) -> list[Step]:
    """Sum out all variables, always the one whose product is smallest; the sums are added to ``factors``."""
    cards = {v: size for f in factors for v, size in zip(f.scope, f.values.shape[:-1], strict=True)}
    holding: dict[str, set[int]] = {variable: set() for variable in cards}
    for number, factor in enumerate(factors):
        for variable in factor.scope:
            holding[variable].add(number)
    cells = {v: _cells(v, holding[v], factors, cards) for v in holding}
    steps = []
    while cells:
        variable = min(cells, key=lambda v: (cells[v], v))
        taken = tuple(sorted(holding[variable]))
        scope = tuple(sorted({v for i in taken for v in factors[i].scope} - {variable}))
        product = _product([factors[i] for i in taken], (variable, *scope))
        steps.append(Step(taken, variable, len(factors)))
        factors.append(Factor(scope, product.sum(0)))
        del cells[variable]
        for other in scope:
            holding[other] = holding[other].difference(taken) | {len(factors) - 1}
            cells[other] = _cells(other, holding[other], factors, cards)
    return steps


def _cells(variable: str, taken: Iterable[int], factors: Sequence[Factor], cards: Mapping[str, int]) -> int:
    return prod(cards[v] for v in {variable}.union(*(factors[i].scope for i in taken)))


def _product(factors: Iterable[Factor], scope: Sequence[str]) -> np.ndarray:
    table = np.ones((1,) * (len(scope) + 1), dtype=Number)
    for factor in factors:
        table = table * _spread(factor, scope)
    return table


def _spread(factor: Factor, scope: Sequence[str]) -> np.ndarray:
    """The factor's values with an axis for each variable of ``scope``."""
    order = sorted(range(len(factor.scope)), key=lambda axis: scope.index(factor.scope[axis]))
    cards = dict(zip(factor.scope, factor.values.shape, strict=False))
    shape = [cards.get(variable, 1) for variable in scope]
    return factor.values.transpose([*order, len(order)]).reshape([*shape, factor.values.shape[-1]])


def _slopes(factors: Sequence[Factor], steps: Sequence[Step]) -> dict[int, np.ndarray]:
    """Derivative of P(e) by each cell of each factor, from the last step back to the first."""
    finals = [i for i, factor in enumerate(factors) if not factor.scope]
    slopes = dict(zip(finals, _all_but_own([factors[i].values for i in finals]), strict=True))
    for step in reversed(steps):
        above = Factor(factors[step.made].scope, slopes.pop(step.made))
        scope = (step.variable, *above.scope)
        cards = _cards(factors, step, scope)
        tables = [_spread(factor, scope) for factor in (above, *(factors[i] for i in step.taken))]
        for number, product in zip(step.taken, _all_but_own(tables)[1:], strict=True):
            whole = np.broadcast_to(product, (*cards, product.shape[-1]))
            slopes[number] = _down(whole, scope, factors[number].scope)
    return slopes


def _all_but_own(tables: Sequence[np.ndarray]) -> list[np.ndarray]:
    """For each table the product of all others; nothing is divided."""
    one = np.ones((1,) * tables[0].ndim, dtype=Number)
    before = accumulate(tables[:-1], np.multiply, initial=one)
    after = list(accumulate(tables[:0:-1], np.multiply, initial=one))[::-1]
    return [np.multiply(left, right) for left, right in zip(before, after, strict=True)]


def _cards(factors: Sequence[Factor], step: Step, scope: Sequence[str]) -> list[int]:
    cards: dict[str, int] = {}
    for i in step.taken:
        cards |= dict(zip(factors[i].scope, factors[i].values.shape, strict=False))
    return [cards[v] for v in scope]


def _down(table: np.ndarray, scope: Sequence[str], kept: Sequence[str]) -> np.ndarray:
    """Sum to the variables ``kept``, in their order; the columns stay."""
    summed = table.sum(tuple(i for i, v in enumerate(scope) if v not in kept))
    left = [v for v in scope if v in kept]
    return summed.transpose([*(left.index(v) for v in kept), len(left)])
