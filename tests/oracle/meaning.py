"""What each gate means, told as a story of hidden throws: all throws are listed, weighed and added up."""

from collections.abc import Callable, Sequence
from functools import reduce

import numpy as np


def max_table(strengths: Sequence[np.ndarray], leak: np.ndarray) -> np.ndarray:
    """Noisy-MAX (noisy-OR with two states): every parent and the leak throw a state, the highest one comes.

    strengths: one array a parent, shape (parent states, S). leak: shape (S,).
    """
    return _told(strengths, leak, len(leak), lambda thrown: thrown.max(0))


def counting_table(needed: int, acts: Sequence[np.ndarray], leak: float) -> np.ndarray:
    """The child comes about when at least ``needed`` parents act, or by the leak; all needed: noisy-AND.

    acts: one array a parent, shape (parent states,).
    """
    coins = [np.stack([1 - chance, chance], axis=1) for chance in acts]
    leaks = np.array([1 - leak, leak])
    return _told(coins, leaks, 2, lambda thrown: (thrown[0] == 1) | (thrown[1:].sum(0) >= needed))


def stopped_table(table: np.ndarray, stops: Sequence[tuple[int, np.ndarray]]) -> np.ndarray:
    """Inhibit: each stopper lets the child come about with a probability of its own; else the first state."""
    stopped = np.zeros_like(table)
    for parents in np.ndindex(*table.shape[:-1]):
        passes = np.prod([lets[parents[index]] for index, lets in stops])
        stopped[parents] = passes * table[parents]
        stopped[(*parents, 0)] += 1 - passes
    return stopped


def _told(
    throws: Sequence[np.ndarray], leak: np.ndarray, states: int, outcome: Callable[[np.ndarray], np.ndarray]
) -> np.ndarray:
    """For every state of the parents: the leak's and the parents' throws, sorted by the outcome they give."""
    table = np.zeros((*(len(rows) for rows in throws), states))
    for parents in np.ndindex(*table.shape[:-1]):
        coins = [leak, *(rows[p] for rows, p in zip(throws, parents, strict=True))]
        weight = np.asarray(reduce(np.multiply.outer, coins))
        come = outcome(np.indices(weight.shape)).astype(int)
        table[parents] = np.bincount(come.ravel(), weight.ravel(), minlength=states)
    return table
