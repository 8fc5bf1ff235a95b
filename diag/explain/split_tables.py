"""Tables of a network's file as smaller factors with the same product, found by looking at the numbers alone.

Nothing is known here of how the file came about, and nothing of this project's own inference is used. What no answer
hangs on is left out; what is known for certain is sliced away; an outer product falls apart; a table with an outer
product in each of its cumulative sums becomes one small factor a parent, tied by a new variable that numbers the sums;
a variable that only hands another one on is taken out. Where none of this fits, a table stays as it is.

References
----------
Díez and Galán 2003, Efficient computation for the noisy MAX, Int. J. Intelligent Systems 18 (cumulative sums).
Shachter 1986, Evaluating influence diagrams, Operations Research 34 (barren nodes).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

# Two numbers this close, relative to their size, are one number that was rounded on two ways.
SAME = 1e-14
# The rows of a distribution add up to 1 within this.
WHOLE = 1e-12
FEWEST_AXES = 4


@dataclass(frozen=True, eq=False)
class Factor:
    """values: one axis a variable of the scope, in its order. A node's own table has the node first."""

    scope: tuple[str, ...]
    values: Array


def small_factors(tables: Mapping[str, Factor], told: Mapping[str, Array], target: str) -> list[Factor]:
    """Factors of different scopes, one may be a number; their product, summed over the rest, is P(target, told).

    tables: P(node | parents) of every node. told: likelihoods per node, shape (states,). The target keeps its axis.
    """
    factors = [tables[node] for node in sorted(_with_all_above(tables, [target, *told]))]
    factors += [Factor((node,), vector) for node, vector in told.items()]
    sliced = enumerate(_sliced(factors, target))
    parts = [part for place, factor in sliced for part in _by_sums(factor, f"sums of {place}")]
    return _one_a_scope(_handed_on(parts, target))


def _with_all_above(tables: Mapping[str, Factor], nodes: Iterable[str]) -> set[str]:
    found: set[str] = set()
    waiting = list(nodes)
    while waiting:
        node = waiting.pop()
        if node not in found:
            found.add(node)
            waiting.extend(tables[node].scope[1:])
    return found


def _sliced(factors: list[Factor], target: str) -> list[Factor]:
    """Certain variables away; an outer product that is left may make the next one certain."""
    while sure := {f.scope[0]: int(f.values.argmax()) for f in factors if f.scope != (target,) and _is_certain(f)}:
        factors = [part for factor in factors for part in _slice(factor, sure)]
    return factors


def _is_certain(factor: Factor) -> bool:
    return len(factor.scope) == 1 and np.count_nonzero(factor.values) == 1


def _slice(factor: Factor, sure: Mapping[str, int]) -> list[Factor]:
    if sure.keys().isdisjoint(factor.scope):
        return [factor]
    values = factor.values[tuple(sure.get(variable, slice(None)) for variable in factor.scope)]
    return _outer(Factor(tuple(variable for variable in factor.scope if variable not in sure), np.asarray(values)))


def _outer(factor: Factor) -> list[Factor]:
    """Factors with this product (of no negative cell), each variable by itself where that is exact."""
    for axis, variable in enumerate(factor.scope if len(factor.scope) > 1 else ()):
        rows = np.moveaxis(factor.values, axis, 0).reshape(factor.values.shape[axis], -1)
        row, column = np.unravel_index(rows.argmax(), rows.shape)
        if not rows[row, column] > 0:
            return [factor]
        alone, others = rows[:, column], rows[row] / rows[row, column]
        product = np.outer(alone, others)
        if np.all(np.abs(product - rows) <= SAME * product):
            scope = (*factor.scope[:axis], *factor.scope[axis + 1 :])
            shape = (*factor.values.shape[:axis], *factor.values.shape[axis + 1 :])
            return [Factor((variable,), alone), *_outer(Factor(scope, others.reshape(shape)))]
    return [factor]


def _by_sums(factor: Factor, number: str) -> list[Factor]:
    """A large P(first | others) with an outer product in each sum over its states up to, or from, one of them.

    number: name of the new variable that numbers the sums.
    """
    if len(factor.scope) < FEWEST_AXES or np.any(np.abs(factor.values.sum(0) - 1) > WHOLE):
        return [factor]
    own, *parents = factor.scope
    states = factor.values.shape[0]
    for counted, whole, before in ((np.tri(states), -1, -1), (np.tri(states).T, 0, 1)):
        sums = np.tensordot(counted, factor.values, 1)
        sums[whole] = 1.0
        products = [_outer(Factor(tuple(parents), one)) for one in sums]
        if all(len(parts) == len(parents) for parts in products):
            vectors = [{part.scope[0]: part.values for part in parts} for parts in products]
            arms = [Factor((p, number), np.stack([one[p] for one in vectors], axis=1)) for p in parents]
            return [Factor((own, number), np.eye(states) - np.eye(states, k=before)), *arms]
    return [factor]


def _handed_on(factors: list[Factor], target: str) -> list[Factor]:
    while (fewer := _without_one(factors, target)) is not None:
        factors = fewer
    return factors


def _without_one(factors: list[Factor], target: str) -> list[Factor] | None:
    """One variable fewer, where one that stands between two makes them the same: summed out, it leaves a diagonal."""
    for variable, first, second in _between_two(factors):
        left, right = _other(first, variable), _other(second, variable)
        through = _from(first, variable).T @ _from(second, variable)
        apart = target not in (left, right, variable) and not any({left, right} <= set(f.scope) for f in factors)
        if apart and _is_diagonal(through):
            rest = [_renamed(factor, right, left) for factor in factors if factor not in (first, second)]
            return [*rest, Factor((left,), np.diag(through))]
    return None


def _is_diagonal(matrix: Array) -> bool:
    return matrix.shape[0] == matrix.shape[1] and not np.any(matrix - np.diag(np.diag(matrix)))


def _between_two(factors: list[Factor]) -> Iterator[tuple[str, Factor, Factor]]:
    holding: dict[str, list[Factor]] = {}
    for factor in factors:
        for variable in factor.scope:
            holding.setdefault(variable, []).append(factor)
    for variable, found in holding.items():
        if len(found) == 2 and all(len(factor.scope) == 2 for factor in found):
            yield variable, found[0], found[1]


def _other(factor: Factor, variable: str) -> str:
    return factor.scope[1 - factor.scope.index(variable)]


def _from(factor: Factor, variable: str) -> Array:
    """Rows: the states of ``variable``."""
    return factor.values if factor.scope[0] == variable else factor.values.T


def _renamed(factor: Factor, old: str, new: str) -> Factor:
    return Factor(tuple(new if variable == old else variable for variable in factor.scope), factor.values)


def _one_a_scope(factors: Iterable[Factor]) -> list[Factor]:
    """Factors of one scope multiplied."""
    found: dict[frozenset[str], Factor] = {}
    for factor in factors:
        known = found.setdefault(frozenset(factor.scope), factor)
        if known is not factor:
            order = [factor.scope.index(variable) for variable in known.scope]
            found[frozenset(factor.scope)] = Factor(known.scope, known.values * factor.values.transpose(order))
    return list(found.values())
