"""The same question put to another engine, from the exported files alone.

Nothing of this project's own inference is used here: pgmpy reads the BIF file and eliminates the variables. In between,
the tables are split where their numbers allow it (split_tables), else some cliques would not fit into memory.
"""

from __future__ import annotations

import json
import logging
import warnings
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from itertools import combinations
from math import prod
from pathlib import Path

import numpy as np

from diag.explain.split_tables import Array, Factor, small_factors

# Cells of the largest table (32 MB). Where it would be larger, the target's states are asked about part by part.
MOST_CELLS = 2**22


def second_opinion(bif: Path, evidence: Path, target: str) -> dict[str, float]:
    """P(target | evidence) by pgmpy. Raises OSError where a file cannot be read, ValueError if all of it is zero.

    bif: a network in the Bayesian interchange format; evidence: JSON, {node: likelihood vector}.
    """
    told = {node: np.array(vector) for node, vector in json.loads(evidence.read_text(encoding="utf-8")).items()}
    with _silence():
        states, tables = _read(bif)
        weights = ask(small_factors(tables, told, target), target)
    if not weights.sum() > 0:
        raise ValueError("the evidence has probability zero in the file")
    return dict(zip(states[target], (weights / weights.sum()).tolist(), strict=True))


@contextmanager
def _silence() -> Iterator[None]:
    """The library speaks of its own future while it loads; that is nothing for a person at the bench."""
    before = logging.root.manager.disable
    logging.disable(logging.WARNING)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    finally:
        logging.disable(before)


def _read(bif: Path) -> tuple[dict[str, list[str]], dict[str, Factor]]:
    """The states and the table of every node."""
    from pgmpy.readwrite import BIFReader

    cpds = BIFReader(str(bif)).get_model().get_cpds()
    states = {cpd.variable: list(cpd.state_names[cpd.variable]) for cpd in cpds}
    return states, {cpd.variable: Factor(tuple(cpd.variables), np.asarray(cpd.values)) for cpd in cpds}


def ask(factors: Sequence[Factor], target: str) -> Array:
    """P(target, evidence) by pgmpy's variable elimination, shape (states of the target,)."""
    order, cells = elimination_order(factors, target)
    (states,) = {f.values.shape[f.scope.index(target)] for f in factors if target in f.scope}
    number = prod(float(f.values) for f in factors if not f.scope)
    tables = _tied_to([f for f in factors if f.scope], target, states)
    step = max(1, MOST_CELLS // cells)
    parts = [range(start, min(start + step, states)) for start in range(0, states, step)]
    return number * np.concatenate([_eliminate([_part(f, target, p) for f in tables], order, target) for p in parts])


def _tied_to(factors: Sequence[Factor], target: str, states: int) -> list[Factor]:
    """Factors of ones beside the given: pgmpy forgets what a part of the network sums to that the target is not in."""
    import networkx

    graph = networkx.Graph(pair for f in factors for pair in zip(f.scope, (*f.scope[1:], f.scope[0]), strict=True))
    cards = {v: size for f in factors for v, size in zip(f.scope, f.values.shape, strict=True)}
    apart = [min(part) for part in networkx.connected_components(graph) if target not in part]
    return [*factors, *(Factor((target, v), np.ones((states, cards[v]))) for v in apart)]


def _part(factor: Factor, target: str, states: Sequence[int]) -> Factor:
    if target not in factor.scope:
        return factor
    return Factor(factor.scope, factor.values.take(states, axis=factor.scope.index(target)))


def _eliminate(factors: Sequence[Factor], order: Sequence[str], target: str) -> Array:
    """pgmpy keeps factors in sets, where equal ones would count once: no two may have the same scope."""
    from pgmpy.factors.discrete import DiscreteFactor
    from pgmpy.inference import VariableElimination
    from pgmpy.models import DiscreteMarkovNetwork

    model = DiscreteMarkovNetwork()
    for factor in factors:
        model.add_nodes_from(factor.scope)
        model.add_edges_from(combinations(factor.scope, 2))
    model.add_factors(*(DiscreteFactor(list(f.scope), f.values.shape, f.values) for f in factors))
    answer = VariableElimination(model).query([target], elimination_order=list(order), show_progress=False)
    return np.asarray(answer.values)


def elimination_order(factors: Sequence[Factor], target: str) -> tuple[list[str], int]:
    """All variables but the target, that with the fewest missing arcs between its neighbours first (min-fill).

    Also the cells of the largest table on the way, the target left out.
    """
    cards = {v: size for f in factors for v, size in zip(f.scope, f.values.shape, strict=True)}
    near: dict[str, set[str]] = {variable: set() for variable in cards if variable != target}
    for first, second in (pair for f in factors for pair in combinations(f.scope, 2) if target not in pair):
        near[first].add(second)
        near[second].add(first)
    order, largest = [], 1
    scores = {variable: _score(variable, near, cards) for variable in near}
    while scores:
        variable = min(scores, key=scores.__getitem__)
        largest = max(largest, scores.pop(variable)[1])
        order.append(variable)
        neighbours = near.pop(variable)
        for other in neighbours:
            near[other] = (near[other] | neighbours) - {variable, other}
        for other in neighbours.union(*(near[n] for n in neighbours)):
            scores[other] = _score(other, near, cards)
    return order, largest


def _score(variable: str, near: Mapping[str, set[str]], cards: Mapping[str, int]) -> tuple[int, int, str]:
    """Missing arcs, cells of the table that its elimination makes, and the name, so that ties are settled."""
    neighbours = near[variable]
    missing = sum(second not in near[first] for first, second in combinations(neighbours, 2))
    return missing, cards[variable] * prod(cards[n] for n in neighbours), variable
