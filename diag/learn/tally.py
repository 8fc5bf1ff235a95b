"""What closed cases count for, added up; the same whatever the order they come in, once they are sorted."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from math import log
from typing import Self

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import Knowledge
from diag.learn.confirmed import ClosedCase
from diag.learn.evaluate import in_use
from diag.learn.expected import Throw, expected
from diag.network.case_network import NOTHING_WRONG, CaseNetwork, compile_case
from diag.network.children import UNLISTED
from diag.network.diagnosis import Diagnosis
from diag.network.inference import ImpossibleEvidence
from diag.network.plan import CliqueTooLarge

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class CaseCounts:
    """One case: shares of the answer by cause, throws, and log P(e) (of a found cause: given it)."""

    found: Mapping[str, float]
    throws: Mapping[Throw, Array]
    log_evidence: float


@dataclass
class Seen:
    """One distribution over many cases, shape (states,) each.

    counts: expected throws; scored, complete: sums from which follows how much of what all throws would have told
    was really told (Louis 1982, JRSS B 44, 226-233, each state by itself): scored / complete, 1 where none was hidden.
    """

    counts: Array
    scored: Array
    complete: Array

    @classmethod
    def nothing(cls, states: int) -> Self:
        return cls(*(np.zeros(states) for _ in range(3)))

    def add(self, counts: Array, chances: Array) -> None:
        """Take in one case, its throws expected under ``chances``; states that cannot come are left out."""
        own, others = np.clip(chances, 1e-12, None), np.clip(1 - chances, 1e-12, None)
        rest = counts.sum() - counts
        self.counts = self.counts + counts
        self.scored = self.scored + (counts / own - rest / others) ** 2
        self.complete = self.complete + (counts / own**2 + rest / others**2) * counts.sum()

    def told(self) -> Array:
        """How many cases without anything hidden would have told as much, shape (states,)."""
        share = np.divide(self.scored, self.complete, out=np.zeros_like(self.scored), where=self.complete > 0)
        return np.asarray(self.counts.sum() * np.minimum(share, 1.0))


@dataclass
class Together:
    """How much the numbers are told of together: two that only their product shows are known less than each seems.

    first: where each throw's states begin; products: sums over cases of the products of any two scores (slopes of
    log P(e)), the empirical information, shape (numbers, numbers).
    """

    first: dict[Throw, int]
    products: Array

    @classmethod
    def of(cls, chances: Mapping[Throw, Array]) -> Self:
        """Nothing told yet; the order is that of the throws' names."""
        throws = sorted(chances)
        ends = np.cumsum([len(chances[throw]) for throw in throws])
        starts = [0, *ends.tolist()]
        return cls(dict(zip(throws, starts, strict=False)), np.zeros((starts[-1],) * 2))

    def add(self, throws: Mapping[Throw, Array], chances: Mapping[Throw, Array]) -> None:
        """Take in one case."""
        places = np.concatenate([self.first[throw] + np.arange(len(row)) for throw, row in throws.items()])
        slopes = np.concatenate([score(row, chances[throw]) for throw, row in throws.items()])
        self.products[np.ix_(places, places)] += np.outer(slopes, slopes)

    def kept(self, prior: Array) -> Array:
        """The share of each number's information that is left once the others are not known, shape (numbers,).

        prior: information that the base itself brings to each number, above 0.
        """
        whole = self.products + np.diag(prior)
        scale = np.sqrt(np.diag(whole))
        return np.asarray(1.0 / np.diag(np.linalg.inv(whole / np.outer(scale, scale))))


def score(counts: Array, chances: Array) -> Array:
    """Slope of log P(e) in the probability of each state, the others taken together; 0 where it cannot come."""
    own, others = np.clip(chances, 1e-12, None), np.clip(1 - chances, 1e-12, None)
    slopes = np.where(chances > 0, counts / own - (counts.sum() - counts) / others, 0.0)
    slopes[0] = 0.0  # the ordinary state is what the others leave
    return np.asarray(slopes)


@dataclass
class Tally:
    """Sums over cases. groups: how many, by fittings told and whether the cause was found."""

    found: dict[str, float] = field(default_factory=dict)
    not_found: dict[str, float] = field(default_factory=dict)
    throws: dict[Throw, Seen] = field(default_factory=dict)
    groups: dict[tuple[tuple[tuple[str, bool], ...], bool], int] = field(default_factory=dict)
    together: Together | None = None
    log_evidence: float = 0.0

    def add(self, case: ClosedCase, counts: CaseCounts, chances: Mapping[Throw, Array]) -> None:
        """Take in one case."""
        named = self.not_found if case.cause is None else self.found
        for cause, share in counts.found.items():
            named[cause] = named.get(cause, 0.0) + share
        # A state of a parent that brings nothing about here has no number to move.
        throws = {throw: row for throw, row in counts.throws.items() if throw in chances}
        for throw, row in throws.items():
            self.throws.setdefault(throw, Seen.nothing(len(row))).add(row, chances[throw])
        if throws:
            self.together = self.together or Together.of(chances)
            self.together.add(throws, chances)
        group = (tuple(sorted(case.observations.fitted.items())), case.cause is not None)
        self.groups[group] = self.groups.get(group, 0) + 1
        self.log_evidence += counts.log_evidence


def count(knowledge: Knowledge, case: ClosedCase, apart: bool = False) -> CaseCounts | str:
    """What one case counts for under the base as it is, or why it cannot; ``apart``: see ``expected``.

    A case whose cause was not found tells of the shares, by the answer it has; which link was at work is told only
    where the cause is.
    """
    network = compile_case(in_use(knowledge, case.observations), case.observations)
    try:
        return _not_found(network) if case.cause is None else _found(network, case.cause, apart)
    except CliqueTooLarge as refused:
        return f"it is too tangled: {refused}."


def what_counts(case: ClosedCase) -> Hashable:
    """All of a case that its counts depend on: cases that are alike in it count the same."""
    told = case.observations
    looks = tuple((k.finding, k.likelihood, k.complaint, k.instruments, k.given_errors) for k in told.looks)
    facts = tuple((look.finding, look.likelihood) for look in told.history)
    checks = tuple(sorted(told.checks.items()))
    return case.cause, looks, facts, tuple(sorted(told.fitted.items())), checks


def _found(network: CaseNetwork, cause: str, apart: bool) -> CaseCounts | str:
    if cause not in network.causes:
        return "its vehicle cannot have the confirmed cause."
    counts = expected(network, cause, apart)
    if not counts.evidence > 0:
        return "what was recorded cannot be with the confirmed cause."
    return CaseCounts({cause: 1.0}, counts.throws, log(counts.evidence))


def _not_found(network: CaseNetwork) -> CaseCounts | str:
    diagnosis = Diagnosis(network)
    try:
        answer = dict(zip(network.states, diagnosis.posterior.tolist(), strict=True))
    except ImpossibleEvidence:
        return "nothing known explains all that was recorded."
    return CaseCounts(answer, {}, log(diagnosis.probability_of_evidence))


def nameable(state: str) -> bool:
    """Whether a confirmed case can name this state of the initiating cause: one that a chapter lists."""
    return state != NOTHING_WRONG and not state.startswith(UNLISTED)
