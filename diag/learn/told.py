"""What was learnt, number by number: before and after, where each lies, and on how much it rests."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from diag.learn.expected import Throw
from diag.learn.learning import Learnt, Shares, strengths
from diag.learn.numbers import sizes_of, throws_of
from diag.learn.posterior import beta_of

Array = npt.NDArray[np.float64]
Interval = tuple[float, float]


@dataclass(frozen=True)
class LearntShare:
    """A cause's share of opened cases (of vehicles of which nothing is told), and its weight on the base's scale.

    confirmed: cases in which it was the cause; guessed: its part of the cases in which none was found.
    """

    id: str
    before: float
    after: float
    before_interval: Interval
    after_interval: Interval
    confirmed: float
    guessed: float
    weight: float
    weight_interval: Interval


@dataclass(frozen=True)
class LearntChance:
    """A strength (``parent`` in ``parent_state`` brings ``child`` to ``state``) or, without parent, a false alarm.

    counted: how often it is expected to have come; of: out of how many; told: how many cases without anything hidden
    would have told as much.
    """

    child: str
    state: str
    parent: str
    parent_state: str
    before: float
    after: float
    before_interval: Interval
    after_interval: Interval
    counted: float
    of: float
    told: float


def learnt_shares(learnt: Learnt) -> list[LearntShare]:
    """All causes, residual causes and ``nothing_wrong``, in the order of the base."""
    shares = Shares(learnt.before, learnt.tally)
    before, after = shares.share(shares.before), shares.share(shares.after)
    found = []
    for place, name in enumerate(shares.names):
        interval = shares.interval(place, shares.after, shares.rests_on[place])
        scale = float(shares.after[place] / after[place]) if after[place] > 0 else 0.0
        found.append(
            LearntShare(
                id=name,
                before=float(before[place]),
                after=float(after[place]),
                before_interval=shares.interval(place, shares.before, shares.worth),
                after_interval=interval,
                confirmed=float(shares.counted[place]),
                guessed=float(shares.guessed[place]),
                weight=float(shares.after[place]),
                weight_interval=(interval[0] * scale, interval[1] * scale),
            )
        )
    return found


def learnt_chances(learnt: Learnt) -> list[LearntChance]:
    """Every strength and false alarm that a case told something of, sorted by child, parent and state."""
    prior, sizes = throws_of(learnt.before), sizes_of(learnt.before)
    after, rests = throws_of(learnt.after), strengths(learnt)
    return [
        chance
        for throw in sorted(learnt.tally.throws)
        for chance in _chances(learnt, throw, (prior[throw], after[throw]), (sizes[throw], rests[throw]))
    ]


def _chances(
    learnt: Learnt, throw: Throw, means: tuple[Array, Array], sizes: tuple[float, Array]
) -> Iterator[LearntChance]:
    seen = learnt.tally.throws[throw]
    known = learnt.before.findings.get(throw.child) or learnt.before.effects[throw.child]
    told = seen.told()
    for place, state in enumerate(known.states):
        before, after = float(means[0][place]), float(means[1][place])
        if place and before > 0:
            yield LearntChance(
                throw.child,
                state,
                throw.parent,
                throw.state,
                before,
                after,
                beta_of(before, sizes[0]).interval(),
                beta_of(after, float(sizes[1][place])).interval(),
                float(seen.counts[place]),
                float(seen.counts.sum()),
                float(told[place]),
            )
