"""Gates in factored form: P(child = s | parents) = sum over r of mix[s, r] * prod over i of part_i[parent_i, r].

A noisy-OR, noisy-MAX, noisy-AND or inhibited gate with n parents needs a sum of R such products, R two or
three times the number of child states at most, where a table needs a cell for every combination of parents.
The parts are never multiplied out, so the parents are not married.

References
----------
Díez 1993, Parameter adjustment in Bayes networks: the generalized noisy OR-gate, UAI (a link strength is the
    probability that this parent alone, leak left out, brings the child about: the "net" reading; the
    "compound" reading of Henrion 1989, leak included, is another number and is not used here).
Díez and Galán 2003, Efficient computation for the noisy MAX, Int. J. Intelligent Systems 18 (the cumulative form).
Savický and Vomlel 2007, Exploiting tensor rank-one decomposition in probabilistic inference, Kybernetika 43.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Gate:
    """A local distribution as a sum of products.

    Attributes
    ----------
    mix: shape (S, R), signed; columns over the R products.
    parts: one array a parent, shape (states of the parent, R), between 0 and 1.
    """

    mix: Array
    parts: tuple[Array, ...]

    @cached_property
    def shape(self) -> tuple[int, ...]:
        """Parents' numbers of states in order, then the child's."""
        return (*(part.shape[0] for part in self.parts), self.mix.shape[0])

    def expand(self) -> Array:
        """The full table, axes: parents in order, then the child."""
        return self.weigh(np.eye(self.mix.shape[0]))

    def weigh(self, likelihood: Array) -> Array:
        """Sum over child states of likelihood times P(child | parents).

        likelihood: shape (S,) or (S, K). Returns the table over the parents, with a last axis K if given.
        """
        products = np.ones((1, self.mix.shape[1]))
        for part in self.parts:
            products = (products[:, None, :] * part[None, :, :]).reshape(-1, part.shape[1])
        table = products @ (self.mix.T @ likelihood)
        return np.asarray(np.clip(table, 0.0, None).reshape((*self.shape[:-1], *likelihood.shape[1:])))


def noisy_max(strengths: Sequence[Array], leak: Array) -> Gate:
    """Noisy-MAX over ordered child states; with two states, a noisy-OR with leak.

    strengths: one array a parent, shape (parent states, S); row p is the distribution of the child while only
        this parent acts and is in state p.
    leak: shape (S,), the distribution with no parent acting.
    """
    states = leak.shape[0]
    leak_cumulative = _cumulative(leak[None, :])[0]
    rows = np.arange(states)
    mix = np.zeros((states, states))
    mix[rows, rows] = leak_cumulative
    mix[rows[1:], rows[:-1]] = -leak_cumulative[:-1]
    return Gate(mix, tuple(_cumulative(strength) for strength in strengths))


def with_parent(gate: Gate, strength: Array) -> Gate:
    """A noisy-MAX gate with one parent more, which comes last; strength: as in ``noisy_max``."""
    return Gate(gate.mix, (*gate.parts, _cumulative(strength)))


def stopped(gate: Gate, lets: Sequence[Array]) -> Gate:
    """A gate that further parents can stop (inhibit): where one does, the child is in its first state.

    lets: one array a further parent, shape (its states,): the probability that it lets the child come about. They
    come after the parents that the gate has.
    """
    if not lets:
        return gate
    products = gate.mix.shape[1]
    mix = np.zeros((gate.mix.shape[0], products + 1))
    mix[1:, :products] = gate.mix[1:]
    mix[0] = -mix[1:].sum(0)
    mix[0, -1] += 1.0
    parts = [np.hstack([part, np.ones((part.shape[0], 1))]) for part in gate.parts]
    parts += [np.hstack([np.repeat(let[:, None], products, 1), np.ones((len(let), 1))]) for let in lets]
    return Gate(mix, tuple(parts))


def stopped_table(table: Array, lets: Sequence[Array]) -> Array:
    """The same for a gate that is a table; axes: its parents, the further parents, the child's states."""
    for let in lets:
        passed = table[..., None, :] * let[:, None]
        passed[..., 0] += 1.0 - let
        table = passed
    return table


def noisy_or(strengths: Sequence[float], leak: float = 0.0) -> Gate:
    """Noisy-OR over two-state parents: P(yes) = 1 - (1 - leak) * prod(1 - strength_i of the present parents)."""
    rows = [np.array([[1.0, 0.0], [1.0 - s, s]]) for s in strengths]
    return noisy_max(rows, np.array([1.0 - leak, leak]))


def noisy_and(strengths: Sequence[Array], leak: float = 0.0) -> Gate:
    """Noisy-AND: P(yes) = leak + (1 - leak) * prod(strength_i[state of parent i]).

    strengths: one array a parent, shape (parent states,).
    """
    mix = np.array([[-(1.0 - leak), 1.0 - leak], [1.0 - leak, leak]])
    return Gate(mix, tuple(np.column_stack([s, np.ones_like(s)]) for s in strengths))


def k_of_n(k: int, strengths: Sequence[Array], leak: float = 0.0) -> Array:
    """P(child | parents) where the child comes about when at least k parents act.

    strengths: one array a parent, shape (parent states,): the probability that it acts.
    Returns a table, axes: parents, then (no, yes).
    """
    shape = tuple(s.shape[0] for s in strengths)
    count = np.zeros((*shape, len(strengths) + 1))
    count[..., 0] = 1.0
    for axis, strength in enumerate(strengths):
        acts = strength.reshape([-1 if i == axis else 1 for i in range(len(shape))] + [1])
        count = count * (1 - acts) + np.roll(count, 1, axis=-1) * acts
    missed, reached = count[..., :k].sum(-1), count[..., k:].sum(-1)
    return np.stack([(1 - leak) * missed, leak + (1 - leak) * reached], axis=-1)


def _cumulative(strength: Array) -> Array:
    """P(state or below), last axis the states; exactly 1 where nothing lies above, so that never stays never."""
    cumulative = np.cumsum(strength, axis=-1)
    cumulative[..., :-1][np.cumsum(strength[..., :0:-1], axis=-1)[..., ::-1] == 0.0] = 1.0
    cumulative[..., -1] = 1.0
    return np.asarray(cumulative)
