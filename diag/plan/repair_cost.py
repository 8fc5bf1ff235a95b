"""Repair and see: what it costs to get rid of the trouble by repairs alone, in the best order.

One cause is at work; a repair mends its cause with its probability of success, and whether it did is seen. Repairs
in the order of success per cost, ended where ending it is cheaper, are the cheapest such sequence. ``nothing_wrong``
is left as it is and watched, at the price of a step; a cause without a repair comes to the ending.

References
----------
Heckerman, Breese and Rommelse 1995, Decision-theoretic troubleshooting, CACM 38(3).
Kadane and Simon 1977, Optimal strategies for a class of constrained sequential problems, Ann. Stat. 5.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import Knowledge
from diag.network.case_network import NOTHING_WRONG
from diag.plan.access import way_to
from diag.plan.cost import price
from diag.plan.settings import Settings

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class RepairCosts:
    """states: of the initiating cause; cost: shape (states,), of its repair from here, infinite where there is none;
    success: shape (states,); ending: price of ending it; minutes and money: shape (states,), of that cost.
    """

    states: tuple[str, ...]
    cost: Array
    success: Array
    ending: float
    minutes: Array
    money: Array

    def expected(self, posterior: Array) -> Array:
        """Expected cost of repair; posterior: shape (..., states), each row adding up to 1 (or to its weight).

        Returns shape (...,), of rows with a weight the cost times that weight.
        """
        rows = posterior.reshape(-1, posterior.shape[-1])
        mended = rows * self.success
        usable = np.isfinite(self.cost)
        ratio = np.where(usable, mended / np.where(usable, self.cost, 1.0), 0.0)
        order = np.argsort(-ratio, axis=1, kind="stable")[:, : int(usable.sum())]
        left = rows.sum(1, keepdims=True) - np.cumsum(np.take_along_axis(mended, order, 1), 1)
        before = np.concatenate([rows.sum(1, keepdims=True), left[:, :-1]], 1)
        spent = np.cumsum(np.where(usable, self.cost, 0.0)[order] * before, 1)
        ended = np.concatenate([rows.sum(1, keepdims=True), left], 1) * self.ending
        total = np.concatenate([np.zeros((len(rows), 1)), spent], 1) + np.clip(ended, 0.0, None)
        return np.asarray(total.min(1).reshape(posterior.shape[:-1]))

    def saved(self, posterior: Array, joint: Array) -> float:
        """What an act takes off the expected cost of repair; joint: P(c, outcome), shape (states, ...)."""
        then = self.expected(joint.reshape(joint.shape[0], -1).T).sum()
        return max(float(self.expected(posterior) - then), 0.0)

    def sequence(self, posterior: Array) -> list[tuple[int, float]]:
        """The repairs of the cheapest sequence, each with the probability that it is the one that helps.

        What is left of the probability is ended.
        """
        mended = posterior * self.success
        usable = np.flatnonzero(np.isfinite(self.cost) & (mended > 0))
        order = usable[np.argsort(-mended[usable] / self.cost[usable], kind="stable")]
        left = posterior.sum() - np.concatenate([[0.0], np.cumsum(mended[order])])
        spent = np.concatenate([[0.0], np.cumsum(self.cost[order] * left[:-1])])
        length = int(np.argmin(spent + np.clip(left, 0.0, None) * self.ending))
        return [(int(place), float(mended[place])) for place in order[:length]]

    def first(self, posterior: Array, place: int) -> float:
        """Expected cost of repair where that of state ``place`` is tried first, and once; posterior adds up to 1."""
        then, success = posterior.copy(), self.success.copy()
        then[place] *= 1.0 - success[place]
        success[place] = 0.0
        return float(self.cost[place] + replace(self, success=success).expected(then))


def repair_costs(
    knowledge: Knowledge, states: tuple[str, ...], settings: Settings, access: Mapping[str, bool]
) -> RepairCosts:
    """What every repair costs from where the vehicle stands, access and putting back included."""
    cost = np.full(len(states), np.inf)
    success, spent, money = np.zeros(len(states)), np.zeros(len(states)), np.zeros(len(states))
    for place, state in enumerate(states):
        entry = knowledge.causes.get(state) or knowledge.effects.get(state)
        repair = entry.repair if entry else None
        if state == NOTHING_WRONG:
            cost[place], success[place] = settings.step, 1.0
        elif repair is not None:
            way = way_to(knowledge, repair.access, access)
            minutes = repair.minutes.value + way.minutes + way.undo_minutes
            cost[place] = price(settings, minutes, way.waiting, repair.money.value) + settings.step
            success[place], spent[place], money[place] = repair.success.value, minutes, repair.money.value
    return RepairCosts(states, np.maximum(cost, 1e-9), success, settings.ending, spent, money)
