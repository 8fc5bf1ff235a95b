"""What must not be done as things stand, with the way out; and what a test may break, as a price."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import Knowledge, Lock, Number
from diag.network.observations import Observations
from diag.plan.access import Way

Effects = Mapping[str, npt.NDArray[np.float64]]


@dataclass(frozen=True)
class Locked:
    """A test that must not or cannot be done now."""

    id: str
    name: str
    why: str
    way_out: str


def locks_in_force(knowledge: Knowledge, observations: Observations, effects: Effects) -> tuple[Lock, ...]:
    """The locks that hold; effects: P(effect | e) by id, shape (states,)."""
    states = last_states(knowledge, observations)
    held = {step for step, on in observations.access.items() if on}
    return tuple(lock for lock in knowledge.locks.values() if _holds(lock, states, effects, held))


def last_states(knowledge: Knowledge, observations: Observations) -> dict[str, str]:
    """The likeliest state of every finding by the last look at it; looks that count for nothing are left out."""
    told = [look for look in observations.looks if look.likelihood is not None and look.trust > 0]
    return {x.finding: knowledge.findings[x.finding].states[int(np.argmax(x.likelihood or ()))] for x in told}


def _holds(lock: Lock, states: Mapping[str, str], effects: Effects, held: set[str]) -> bool:
    if any(states.get(finding) in lifting for finding, lifting in lock.unless.items()) or held & set(lock.lifted_by):
        return False
    return (
        any(states.get(finding) in bad for finding, bad in lock.told.items())
        or any(_there(effects, effect) > limit.value for effect, limit in lock.likely.items())
        or bool(held & set(lock.during))
    )


def locked_by(locks: Iterable[Lock], test: str, access: Iterable[str], way: Way) -> Lock | None:
    """The first lock that bars a test: by its id, by a state that it needs, or by a step on the way to it."""
    steps = {*access, *way.steps}
    return next((lock for lock in locks if test in lock.tests or steps & set(lock.bars)), None)


def expected_harm(harms: Iterable[Mapping[str, Number]], effects: Effects) -> float:
    """Price of what an act may break: for every effect the dearest of its prices, times how likely it is there."""
    dearest: dict[str, float] = {}
    for prices in harms:
        for effect, price in prices.items():
            dearest[effect] = max(dearest.get(effect, 0.0), price.value)
    return sum(_there(effects, effect) * price for effect, price in dearest.items())


def _there(effects: Effects, effect: str) -> float:
    return 1.0 - float(effects[effect][0]) if effect in effects else 0.0
