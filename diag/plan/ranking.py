"""Questions and hands-on tests, each ranked by what they tell for what they cost.

Two lists: a question costs a minute of talk and would always stand first in one list. Score = expected
information gain about the target / (cost + the price of a step of attention); the target is the initiating cause
unless another is named.

References
----------
Heckerman, Breese and Rommelse 1995, Decision-theoretic troubleshooting, CACM 38(3) (costs, one step ahead).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from diag.knowledge.steps import after
from diag.knowledge.types import Lock
from diag.network.diagnosis import Diagnosis, Outcomes
from diag.plan.access import way_to
from diag.plan.act import act
from diag.plan.cost import score
from diag.plan.locks import Locked, locked_by, locks_in_force
from diag.plan.proposal import Proposal, previews
from diag.plan.repair_cost import RepairCosts, repair_costs
from diag.plan.settings import Settings
from diag.plan.stop import Stop, stop_or_not
from diag.text import html_table, text_table

PRINTED = 5  # questions and tests each shown at a prompt or in a notebook
WITH_COMPANY = 6  # tests for which it is looked up what comes almost free beside them


@dataclass(frozen=True)
class Ranking:
    """Both lists, best first, what is locked, and whether to stop; repairs: what repair-and-see costs from here."""

    questions: tuple[Proposal, ...]
    tests: tuple[Proposal, ...]
    locked: tuple[Locked, ...]
    stop: Stop
    repairs: RepairCosts

    def __repr__(self) -> str:
        return "\n".join(text_table(caption, rows) for caption, rows in self._tables())

    def _repr_html_(self) -> str:
        head = ("name", "bits", "cost", "score", "id")
        return "".join(html_table(caption, head, rows) for caption, rows in self._tables())

    def _tables(self) -> Iterator[tuple[str, list[tuple[str, ...]]]]:
        """Both lists as far as they are printed, each with its caption."""
        for caption, proposals in (("questions", self.questions), ("tests", self.tests)):
            rows: list[tuple[str, ...]] = [
                (p.name, f"{p.gain_bits:.2f}", f"{p.cost:.2f}", f"{p.score:.3f}", p.id) for p in proposals[:PRINTED]
            ]
            yield f"{caption}, the first {len(rows)} of {len(proposals)}", rows


def rank(diagnosis: Diagnosis, settings: Settings, gains: Mapping[str, float] | None = None) -> Ranking:
    """What to ask and what to test next. Raises ImpossibleEvidence.

    gains: bits about another target by question and test; None: about the initiating cause.
    """
    desk = _Desk(diagnosis, settings, gains)
    questions = _best_first(desk.questions(), settings)
    tests = _best_first(desk.tests(), settings)
    locked = {test.id: found for test in tests if (found := desk.lock(test))}
    free = [test for test in tests if test.id not in locked]
    free[:WITH_COMPANY] = [desk.with_company(test, free) for test in free[:WITH_COMPANY]]
    stop = stop_or_not(diagnosis, settings, desk.repairs, (*questions, *free))
    return Ranking(questions, tuple(free), tuple(locked.values()), stop, desk.repairs)


@dataclass(frozen=True, eq=False)
class _Desk:
    """What making proposals needs."""

    diagnosis: Diagnosis
    settings: Settings
    gains: Mapping[str, float] | None

    @cached_property
    def repairs(self) -> RepairCosts:
        case = self.diagnosis.case
        return repair_costs(case.knowledge, self.diagnosis.states, self.settings, case.observations.access)

    @cached_property
    def effects(self) -> Mapping[str, npt.NDArray[np.float64]]:
        return self.diagnosis.effects()

    @cached_property
    def locks(self) -> tuple[Lock, ...]:
        case = self.diagnosis.case
        return locks_in_force(case.knowledge, case.observations, self.effects)

    def questions(self) -> Iterator[Proposal]:
        tests = self.diagnosis.case.knowledge.tests
        return (self._proposal(id, told) for id, told in self.diagnosis.open_outcomes.items() if id not in tests)

    def tests(self) -> Iterator[Proposal]:
        tests = self.diagnosis.case.knowledge.tests
        return (self._proposal(id, told) for id, told in self.diagnosis.open_outcomes.items() if id in tests)

    def _proposal(self, id: str, outcome: Outcomes) -> Proposal:
        of = act(self.diagnosis.case, id, self.settings, self.effects)
        gain = outcome.gain if self.gains is None else self.gains.get(id, 0.0)
        worth = gain >= self.settings.least_gain
        return Proposal(
            id=id,
            name=of.name,
            gain_bits=gain,
            cost=of.cost,
            score=score(gain, of.cost, self.settings),
            minutes=of.minutes,
            money=of.money,
            waiting=of.waiting,
            way=of.way,
            outcomes=tuple(previews(self.diagnosis, outcome)) if worth else (),
            harm=of.harm,
            saves=self.repairs.saved(self.diagnosis.posterior, outcome.joint) if worth else 0.0,
        )

    def lock(self, test: Proposal) -> Locked | None:
        """Why a test must not or cannot be done, or None."""
        knowledge = self.diagnosis.case.knowledge
        if test.way.barred_by:
            one, other = (knowledge.access[step].name for step in test.way.barred_by[0])
            why = f"It needs '{one}' and '{other}', which cannot both be."
            return Locked(test.id, test.name, why, "Make two tests of it in the knowledge base.")
        lock = locked_by(self.locks, test.id, knowledge.tests[test.id].access, test.way)
        return Locked(test.id, test.name, lock.why, lock.way_out) if lock else None

    def with_company(self, test: Proposal, others: Sequence[Proposal]) -> Proposal:
        """The test with those that need nothing more taken off once it is done, and would now."""
        knowledge, state = self.diagnosis.case.knowledge, dict(self.diagnosis.case.observations.access)
        for step in test.way.steps:
            state = after(knowledge.access, state, step, True)
        beside = [
            other.id
            for other in others
            if other.id != test.id
            and set(other.way.steps) & set(test.way.steps)
            and not way_to(knowledge, knowledge.tests[other.id].access, state).steps
        ]
        return replace(test, beside=tuple(beside))


def _best_first(proposals: Iterator[Proposal], settings: Settings) -> tuple[Proposal, ...]:
    worth = (proposal for proposal in proposals if proposal.gain_bits >= settings.least_gain)
    return tuple(sorted(worth, key=lambda proposal: (-proposal.score, proposal.id)))
