"""Learning from closed cases: rounds of counting and of moving the numbers, until they stand still (EM).

The base enters with the counts that it is worth, so that nothing moves without cases, and little by few.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import Knowledge
from diag.learn.confirmed import ClosedCase, Refused
from diag.learn.expected import Throw
from diag.learn.numbers import WORTH, sizes_of, throws_of, weights_of, with_throws, with_weights
from diag.learn.posterior import ROOM, beta_of
from diag.learn.tally import CaseCounts, Tally, count, nameable, what_counts
from diag.learn.weights import Groups, scaled
from diag.network.case_network import compile_case
from diag.network.observations import Observations

Array = npt.NDArray[np.float64]
Tell = Callable[[int, int, int], None]  # round, cases done in it, cases of it

ROUNDS = 12
EXACT_UP_TO = 500  # cases; beyond them a second fault is taken apart (see expected)
STILL = 1e-3  # no probability moves by more of its own size in the last round
NOTHING = Observations((), (), {}, frozenset(), None, {})


@dataclass(frozen=True, eq=False)
class Learnt:
    """before, after: the base and what it became; ``tally`` what was counted; ``cases`` those that were learnt from."""

    before: Knowledge
    after: Knowledge
    tally: Tally
    cases: tuple[ClosedCase, ...]
    refused: tuple[Refused, ...]
    rounds: int
    apart: bool
    earlier: frozenset[str] = frozenset()


def once(
    told: Iterable[ClosedCase | Refused], earlier: frozenset[str] = frozenset()
) -> tuple[list[ClosedCase], list[Refused]]:
    """The cases in the order of their content, each once, and what is refused, in the order of the files."""
    cases: dict[str, ClosedCase] = {}
    refused: list[Refused] = []
    for one in sorted(told, key=lambda one: one.file):
        if isinstance(one, Refused):
            refused.append(one)
        elif one.digest in cases:
            refused.append(Refused(one.file, f"it is the same case as {cases[one.digest].file}."))
        elif one.digest in earlier:
            refused.append(Refused(one.file, "it was learnt from already."))
        else:
            cases[one.digest] = one
    return [cases[digest] for digest in sorted(cases)], refused


def learn(
    knowledge: Knowledge,
    told: Iterable[ClosedCase | Refused],
    earlier: Tally | None = None,
    known: frozenset[str] = frozenset(),
    rounds: int = ROUNDS,
    apart: bool | None = None,
    tell: Tell = lambda _round, _done, _all: None,
) -> Learnt:
    """What the cases teach; ``earlier``: what an overlay counted before, from the cases ``known``.

    apart: see ``expected``; None: from so many cases on that exact counts would take long.
    """
    cases, refused = once(told, known)
    apart = len(cases) > EXACT_UP_TO if apart is None else apart
    start = earlier or Tally()
    base, tally, done = knowledge, deepcopy(start), 0
    while cases and done < rounds:
        done += 1
        tally, wrong = _counted(base, cases, start, apart, partial(_tell_round, tell, done, len(cases)))
        if wrong:
            refused += wrong.values()
            cases = [case for case in cases if case.digest not in wrong]
        new = _moved(knowledge, tally)
        still = _is_still(base, new)
        base = new
        if still:
            break
    if not cases and earlier is None:
        base = knowledge
    elif not cases:
        base = _moved(knowledge, tally)
    return Learnt(knowledge, base, tally, tuple(cases), tuple(sorted(refused)), done, apart, known)


def _tell_round(tell: Tell, number: int, whole: int, done: int) -> None:
    tell(number, done, whole)


def _counted(
    base: Knowledge, cases: Sequence[ClosedCase], start: Tally, apart: bool, tell: Callable[[int], None]
) -> tuple[Tally, dict[str, Refused]]:
    tally, wrong, chances = deepcopy(start), {}, throws_of(base)
    known: dict[Hashable, CaseCounts | str] = {}
    for number, case in enumerate(cases, start=1):
        alike = what_counts(case)
        if alike not in known:
            known[alike] = count(base, case, apart)
        counts = known[alike]
        if isinstance(counts, CaseCounts):
            tally.add(case, counts, chances)
        else:
            wrong[case.digest] = Refused(case.file, counts)
        tell(number)
    return tally, wrong


def _moved(knowledge: Knowledge, tally: Tally) -> Knowledge:
    """The base after these counts: its own counts and those seen, together."""
    sizes, prior = sizes_of(knowledge), throws_of(knowledge)
    throws = {throw: _mean(prior[throw], sizes[throw], seen.counts) for throw, seen in tally.throws.items()}
    return with_weights(with_throws(knowledge, throws), _weights(knowledge, tally))


def _mean(prior: Array, size: float, counts: Array) -> Array:
    return np.asarray((prior * size + counts) / (size + counts.sum()))


def _weights(knowledge: Knowledge, tally: Tally) -> dict[str, float]:
    shares = Shares(knowledge, tally)
    return dict(zip(shares.names, shares.after.tolist(), strict=True))


class Shares:
    """The weights before and after, and how sure each is.

    names: causes, residual causes and ``nothing_wrong``; anybody: room in a vehicle of which nothing is told.
    """

    def __init__(self, knowledge: Knowledge, tally: Tally) -> None:
        self.knowledge = knowledge
        before = weights_of(knowledge)
        self.names = tuple(before)
        self.before = np.array(list(before.values()))
        self.anybody = self._room((), named=False)
        self.total = float(self.before @ self.anybody)
        self.worth = knowledge.model[WORTH].value.value
        self.prior = self.worth * self.before * self.anybody / self.total
        self.counted = self._by_name(tally.found)
        self.guessed = self._by_name(tally.not_found)
        groups = [(self._room(fitted, named), cases) for (fitted, named), cases in sorted(tally.groups.items())]
        self.after = self.before
        self.rests_on = np.full(len(self.names), self.worth)
        if groups:
            rooms, cases = (np.array(column) for column in zip(*groups, strict=True))
            named = np.array([named for _, named in sorted(tally.groups)])
            # A cause that was only guessed at moves the share; it makes nobody surer.
            self.rests_on = self.rests_on + (cases * named) @ (rooms > 0)
            seen = self.counted + self.guessed
            self.after = scaled(self.before, self.prior, seen, self.anybody, Groups(rooms, cases))

    def _by_name(self, told: Mapping[str, float]) -> Array:
        return np.array([told.get(name, 0.0) for name in self.names])

    def _room(self, fitted: Iterable[tuple[str, bool]], named: bool) -> Array:
        """How much of each weight applies to a vehicle; nought where a confirmed case could not have named it."""
        case = compile_case(replace(self.knowledge, findings={}), replace(NOTHING, fitted=dict(fitted)))
        prior = dict(zip(case.states, case.prior.tolist(), strict=True))
        room = np.array([prior.get(name, 0.0) / w if w > 0 else 0.0 for name, w in weights_of(self.knowledge).items()])
        if named:
            room = room * np.array([nameable(name) for name in self.names])
        return np.asarray(room / max(room.max(), 1e-300))

    def share(self, weights: Array) -> Array:
        """Shares in a vehicle of which nothing is told."""
        return np.asarray(weights * self.anybody / (weights @ self.anybody))

    def interval(self, place: int, weights: Array, cases: float) -> tuple[float, float]:
        """Where the share lies, by how many ``cases`` it rests on, those that the base is worth among them."""
        share = float(self.share(weights)[place])
        return beta_of(share, cases).interval() if share > 0 else (0.0, 0.0)


def _is_still(before: Knowledge, after: Knowledge) -> bool:
    """Whether no probability moved by more of its own size, or of a hundredth where it is smaller."""
    old, new = throws_of(before), throws_of(after)
    return all(np.all(np.abs(new[throw] - old[throw]) <= STILL * np.maximum(old[throw], 0.01)) for throw in old)


def strengths(learnt: Learnt) -> dict[Throw, Array]:
    """How many cases each state of a distribution rests on after learning, shape (states,); only what was told of."""
    sizes, chances, tally = sizes_of(learnt.before), throws_of(learnt.after), learnt.tally
    if tally.together is None:
        return {}
    first = tally.together.first
    prior = np.ones(len(tally.together.products))
    for throw, place in first.items():
        own = chances[throw]
        prior[place : place + len(own)] = sizes[throw] / np.clip(own * (1 - own), ROOM, None)
    kept = tally.together.kept(prior)
    return {
        throw: np.maximum(
            (sizes[throw] + seen.told()) * kept[first[throw] : first[throw] + len(seen.counts)], sizes[throw]
        )
        for throw, seen in tally.throws.items()
    }
