"""What of a knowledge base works: causes, findings and tests that make a difference in some case.

A cause works where it comes first in its own twin case, and some question or test still open there parts it from
every other cause. A finding works where an answer about it moves the leader's probability in some case. A test (or
question) works where it is among the first few proposed in some case, or in one before one of its answers was told.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import Knowledge
from diag.learn.rivals import by_cause
from diag.learn.twin_cases import twin_cases
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.observations import Observations

Array = npt.NDArray[np.float64]

# Ids of questions and of tests, each best first.
Propose = Callable[[Diagnosis], tuple[Sequence[str], Sequence[str]]]
Tell = Callable[[int, int], None]

PARTED = 0.05  # bits expected between two causes, equally likely before, below which they are twins
MOVED = 0.01  # of probability
FIRST_FEW = 5
WORKING_SECTIONS = ("causes", "findings", "tests", "questions")


@dataclass(frozen=True)
class Working:
    """What works, by section, and the rest of the section. ``twins``: a cause, and one that no test parts from it."""

    working: Mapping[str, tuple[str, ...]]
    not_working: Mapping[str, tuple[str, ...]]
    twins: tuple[tuple[str, str], ...]


@dataclass
class _Seen:
    """What was seen to work so far."""

    causes: set[str] = field(default_factory=set)
    findings: set[str] = field(default_factory=set)
    tests: set[str] = field(default_factory=set)
    questions: set[str] = field(default_factory=set)
    twins: set[tuple[str, str]] = field(default_factory=set)

    def note(self, proposed: tuple[Sequence[str], Sequence[str]]) -> None:
        """Note the first few of each list."""
        self.questions.update(proposed[0][:FIRST_FEW])
        self.tests.update(proposed[1][:FIRST_FEW])


@dataclass(frozen=True)
class _Play:
    """A case being played, and who leads in it how surely. What works is added to ``seen``."""

    diagnosis: Diagnosis
    leader: str
    probability: float
    propose: Propose
    seen: _Seen

    @property
    def knowledge(self) -> Knowledge:
        return self.diagnosis.case.knowledge

    def drop_each(self) -> None:
        """The case before each of its answers was: does it move the leader, and would one have been sent for it?"""
        observations = self.diagnosis.case.observations
        for told in sorted({look.finding for look in (*observations.looks, *observations.history)}):
            unmoved = told in self.knowledge.findings and told not in self.seen.findings
            unproposed = self._unproposed(told)
            if unmoved or unproposed:
                without = Diagnosis(compile_case(self.knowledge, _without(observations, told)))
                if unmoved and self._moves(without):
                    self.seen.findings.add(told)
                if unproposed:
                    self.seen.note(self.propose(without))

    def _unproposed(self, told: str) -> bool:
        tests = {test.id for test in self.knowledge.tests.values() if told in test.reveals}
        asked = {told} if _is_question(self.knowledge, told) else set()
        return bool(tests - self.seen.tests or asked - self.seen.questions)

    def _moves(self, without: Diagnosis) -> bool:
        return abs(by_cause(without.case, without.posterior)[self.leader] - self.probability) >= MOVED

    def part(self) -> None:
        """Note the leader as working, or its twins."""
        alike = [other for other, gain in best_parting(self.diagnosis, self.leader).items() if gain < PARTED]
        self.seen.twins.update((self.leader, other) for other in alike)
        if not alike:
            self.seen.causes.add(self.leader)


def working(knowledge: Knowledge, worked: Iterable[Observations], propose: Propose, tell: Tell) -> Working:
    """Play the twin cases of the base and the ``worked`` ones; ``tell`` is told how many of how many are done."""
    cases: list[tuple[Observations, str]] = [
        *((case.observations, case.leader if case.is_first else "") for case in twin_cases(knowledge)),
        *((observations, "") for observations in worked),
    ]
    seen = _Seen()
    for number, (observations, wanted) in enumerate(cases, start=1):
        diagnosis = Diagnosis(compile_case(knowledge, observations))
        if diagnosis.probability_of_evidence > 0:
            seen.note(propose(diagnosis))
            play = _Play(diagnosis, *first_of(by_cause(diagnosis.case, diagnosis.posterior)), propose, seen)
            play.drop_each()
            if play.leader == wanted:
                play.part()
        tell(number, len(cases))
    return _counted(knowledge, seen)


def first_of(ranked: Mapping[str, float]) -> tuple[str, float]:
    """Who comes first and how surely; of equals the first by name."""
    return min(ranked.items(), key=lambda item: (-item[1], item[0]))


def _without(observations: Observations, told: str) -> Observations:
    looks = tuple(look for look in observations.looks if look.finding != told)
    return replace(observations, looks=looks, history=tuple(k for k in observations.history if k.finding != told))


def _is_question(knowledge: Knowledge, id: str) -> bool:
    return id in knowledge.history or knowledge.findings[id].ask


def best_parting(diagnosis: Diagnosis, cause: str) -> dict[str, float]:
    """Per other listed cause: bits that the best open question or test is expected to tell between it and ``cause``.

    Both are taken as equally likely before. A cause that the evidence rules out is parted by a whole bit.
    """
    states, posterior = diagnosis.case.states, diagnosis.posterior
    possible = posterior > 0
    best = np.where(possible, 0.0, 1.0)
    for outcome in diagnosis.open_outcomes.values():
        given = outcome.joint.reshape(len(states), -1)[possible] / posterior[possible][:, None]
        own = outcome.joint.reshape(len(states), -1)[states.index(cause)] / posterior[states.index(cause)]
        best[possible] = np.maximum(best[possible], _between(given, own))
    listed = diagnosis.case.knowledge.causes
    return {s: float(b) for s, b in zip(states, best, strict=True) if s in listed and s != cause}


def _between(rows: Array, own: Array) -> Array:
    """Shapes (causes, outcomes), (outcomes,): bits that an outcome tells between each row and ``own``."""
    mixed = (rows + own) / 2
    return np.asarray(_entropies(mixed) - (_entropies(rows) + _entropies(own[None])) / 2)


def _entropies(rows: Array) -> Array:
    return np.asarray(-(rows * np.log2(rows, out=np.zeros_like(rows), where=rows > 0)).sum(1))


def _counted(knowledge: Knowledge, seen: _Seen) -> Working:
    questions = [id for id in (*knowledge.findings, *knowledge.history) if _is_question(knowledge, id)]
    there: tuple[Iterable[str], ...] = (knowledge.causes, knowledge.findings, knowledge.tests, questions)
    sections = {name: (ids, getattr(seen, name)) for name, ids in zip(WORKING_SECTIONS, there, strict=True)}
    declared = {(twin.id, twin.twin_of) for twin in knowledge.twins.values() if twin.twin_of}
    return Working(
        working={name: tuple(id for id in ids if id in found) for name, (ids, found) in sections.items()},
        not_working={name: tuple(id for id in ids if id not in found) for name, (ids, found) in sections.items()},
        twins=tuple(sorted(seen.twins | declared)),
    )
