"""How far an answer hangs on judgement: all judgements moved within their ranges, and the few that matter most.

Which numbers to look at closer is found by how the answer went along with each over all draws; what each of these does
by itself is then worked out exactly, from one end of its range to the other.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from diag.explain.numbers import Path, judgements, part_at, part_that_bears, with_value
from diag.explain.weight import log_odds
from diag.explain.why import members
from diag.knowledge.types import Knowledge, Number
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.leader import leading

Array = npt.NDArray[np.float64]
Shake = Callable[[Knowledge, np.random.Generator], Knowledge]

SEED = 1
MATTER = 3
# So many numbers are looked at exactly, those that the answer went along with most.
LOOKED_AT = 12
# Of its value: a range that begins at nought is taken to begin there.
LEAST = 1e-3


@dataclass(frozen=True)
class Matter:
    """One number: the names on the way to it, and what the cause weighs, in decibans, at both ends of its range.

    child: where it is the strength of a link, to which effect or finding.
    """

    path: Path
    child: str
    number: Number
    at_low: float
    at_high: float

    @property
    def swing(self) -> float:
        """How far the cause moves while the number goes through its range, in decibans."""
        return abs(self.at_high - self.at_low)


@dataclass(frozen=True)
class Judgement:
    """leads: how often each cause led, the most frequent first. probability: of the cause asked about, the 5th, 50th
    and 95th percentile of the draws. decibans: its log odds with all numbers as they are. matter: what moves it most.
    """

    cause: str
    draws: int
    leads: tuple[tuple[str, float], ...]
    probability: tuple[float, float, float]
    decibans: float
    matter: tuple[Matter, ...]


class Draws:
    """The same case judged from many shaken bases."""

    def __init__(self, diagnosis: Diagnosis, shake: Shake, count: int) -> None:
        self.diagnosis = diagnosis
        self._base = part_that_bears(diagnosis)
        self.numbers = list(judgements(self._base))
        self._values = np.zeros((count, len(self.numbers)))
        self._posteriors = np.zeros((count, len(diagnosis.states)))
        random = np.random.default_rng(SEED)
        for draw in range(count):
            base = shake(self._base, random)
            self._values[draw] = [part_at(base, path).value for path, _ in self.numbers]
            self._posteriors[draw] = self._judged(base)

    def about(self, cause: str) -> Judgement:
        """What the draws say of a cause (or ``unlisted``). Raises KeyError where it is none of this case."""
        places = list(members(self.diagnosis, cause))
        shares = self._posteriors[:, places].sum(1)
        low, middle, high = np.percentile(shares, (5, 50, 95)).tolist()
        return Judgement(
            cause=cause,
            draws=len(shares),
            leads=self._leads,
            probability=(low, middle, high),
            decibans=_decibans(self.diagnosis.posterior, places),
            matter=self._matter(places),
        )

    @cached_property
    def _leads(self) -> tuple[tuple[str, float], ...]:
        counted = Counter(leading(self.diagnosis, posterior)[0] for posterior in self._posteriors)
        shares = ((cause, number / len(self._posteriors)) for cause, number in counted.items())
        return tuple(sorted(shares, key=lambda lead: (-lead[1], lead[0])))

    def _matter(self, places: Sequence[int]) -> tuple[Matter, ...]:
        weights = np.array([_decibans(posterior, places) for posterior in self._posteriors])
        matter = [self._swung(place, places) for place in closest(np.log(self._values), weights, LOOKED_AT)]
        return tuple(sorted(matter, key=lambda m: -m.swing)[:MATTER])

    def _swung(self, which: int, places: Sequence[int]) -> Matter:
        path, number = self.numbers[which]
        assert number.low is not None
        assert number.high is not None
        ends = (max(number.low, number.value * LEAST), min(number.high, self._room(path)))
        low, high = (_decibans(self._judged(with_value(self._base, path, end)), places) for end in ends)
        child = part_at(self._base, path[:4]).child if path[2] in ("leads_to", "shows") else ""
        return Matter(path, child, number, low, high)

    def _room(self, path: Path) -> float:
        """As much as the other states of a distribution leave; a factor or a weight has no such bound."""
        if path[2] not in ("leak", "false_alarm", "leads_to", "shows"):
            return float("inf")
        states = part_at(self._base, path[:-1])
        return 1.0 - sum(float(other.value) for state, other in states.items() if state != path[-1])

    def _judged(self, base: Knowledge) -> Array:
        return Diagnosis(compile_case(base, self.diagnosis.case.observations)).posterior


def _decibans(posterior: Array, places: Sequence[int]) -> float:
    own = np.isin(np.arange(len(posterior)), places)
    return log_odds((float(posterior[own].sum()), float(posterior[~own].sum())))


def closest(values: Array, answer: Array, count: int) -> list[int]:
    """The columns that the answer went along with most closely, one after the other (orthogonal matching pursuit).

    values: shape (draws, numbers); answer: shape (draws,). What the columns taken so far explain is taken off the
    answer before the next is looked for, so that a strong one does not hide the others in its noise.
    """
    apart = values - values.mean(0)
    sizes = np.sqrt((apart**2).sum(0))
    scaled = np.divide(apart, sizes, out=np.zeros_like(apart), where=sizes > 0)
    left, taken = answer - answer.mean(), list[int]()
    for _ in range(min(count, len(answer) - 2, scaled.shape[1])):
        along = np.abs(scaled.T @ left)
        along[taken] = -1.0
        taken.append(int(along.argmax()))
        chosen = scaled[:, taken]
        left = answer - answer.mean() - chosen @ np.linalg.lstsq(chosen, answer - answer.mean(), rcond=None)[0]
    return taken
