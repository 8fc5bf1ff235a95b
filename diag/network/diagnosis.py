"""What the evidence of a case says: likely causes, what else is there, and what each test would tell.

All from propagations through the fault network: P(e, F_c = yes) divided by the prior of F_c is P(e | C = c).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from diag.network.case_network import CaseNetwork
from diag.network.handed import Handed, belief
from diag.network.history import open_facts
from diag.network.inference import ImpossibleEvidence, Inference
from diag.network.information import expected_information_gain
from diag.network.now import NowList
from diag.network.plan import CliqueTooLarge
from diag.network.reading_gain import channels_of, through_channels

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Outcomes:
    """The joint outcomes of one test.

    findings: the axes of ``joint`` after the first; joint: P(item, outcome | e), shape (states of the list, ...).
    case: whose instruments read the findings; None: they are taken to be seen as they are.
    """

    findings: tuple[str, ...]
    joint: Array
    case: CaseNetwork | None = None

    @cached_property
    def gain(self) -> float:
        """Expected information gain about the list of causes, in bits; of the figures where they are read."""
        channels = channels_of(self.case, self.findings) if self.case else ()
        return expected_information_gain(through_channels(self.joint, channels))


class Diagnosis:
    """A compiled case, asked. Raises ImpossibleEvidence where nothing can explain what was recorded.

    Before the first repair the list of causes is over the initiating cause C. After it, it is over what keeps the
    trouble going now (see now): ``states`` then holds causes, damage that may be left in, and ``nothing_wrong``.
    """

    def __init__(self, case: CaseNetwork) -> None:
        self.case = case
        self._inference = Inference(case.faults, case.likelihood)

    @cached_property
    def _now(self) -> NowList | Handed | None:
        """What answers from the second stage on."""
        return belief(self.case) if len(self.case.stages) > 1 else None

    @property
    def method(self) -> str:
        """``exact``, or ``handed_on`` where stages were begun from marginals."""
        return "handed_on" if isinstance(self._now, Handed) else "exact"

    @property
    def states(self) -> tuple[str, ...]:
        """What ``posterior`` and the outcomes of tests are over, in their order."""
        return self._now.items if self._now else self.case.states

    @cached_property
    def evidence_given_cause(self) -> Array:
        """P(e | C), history included, shape (states of C,)."""
        if self._now is not None:
            return np.asarray(self._now.lanes / self.case.prior)
        return np.asarray(self._given_cause([{}])[:, 0] * self.case.history)

    @cached_property
    def probability_of_evidence(self) -> float:
        """P(e); 0 where the evidence is impossible."""
        return float(self.case.prior @ self.evidence_given_cause)

    @cached_property
    def posterior(self) -> Array:
        """P(item | e), shape (states,), adds up to 1."""
        if self._now is None:
            return self.initiating
        return _shares(self._now.shares)

    @cached_property
    def initiating(self) -> Array:
        """P(C | e), shape (states of C,), adds up to 1: what started the trouble."""
        return _shares(self.case.prior * self.evidence_given_cause)

    @cached_property
    def reasons(self) -> dict[str, dict[str, float]]:
        """P(item, why it is there now | e) by item; empty before the first repair."""
        if self._now is None:
            return {}
        total = self.probability_of_evidence
        return {item: {why: p / total for why, p in told.items()} for item, told in self._now.reasons.items()}

    @property
    def leader(self) -> str:
        """The likeliest single cause (residual causes and ``nothing_wrong`` included)."""
        return self.states[int(self.posterior.argmax())]

    @cached_property
    def idle_share(self) -> float:
        """Share of the answer that rests on causes which explain nothing: they are there, the trouble is chance."""
        given = self.evidence_given_cause
        idle = np.minimum(given, given[-1])
        return float(self.case.prior[:-1] @ idle[:-1] / self.probability_of_evidence)

    def outcomes(self, tests: Mapping[str, Sequence[str]]) -> dict[str, Outcomes]:
        """P(C, outcome | e) of every test; findings that are recorded or gone are left out of its outcome."""
        open_findings = {
            test: tuple(f for f in findings if f not in self.case.recorded) for test, findings in tests.items()
        }
        asked = {test: findings for test, findings in open_findings.items() if findings}
        tables = self._with_item(list(asked.values()))
        return {
            test: Outcomes(findings, table, self.case)
            for (test, findings), table in zip(asked.items(), tables, strict=True)
        }

    @cached_property
    def open_outcomes(self) -> dict[str, Outcomes]:
        """P(C, outcome | e) of every question and test of the base that this vehicle can still have, by id."""
        base, fitted = self.case.knowledge, self.case.observations.fitted
        asked = {f.id: (f.id,) for f in base.findings.values() if f.ask}
        tests = {
            test.id: test.reveals
            for test in base.tests.values()
            if all(fitted.get(fitting, True) for fitting in test.fitted)
        }
        return {**self.outcomes({**asked, **tests}), **({} if self._now else self.fact_outcomes())}

    def fact_outcomes(self) -> dict[str, Outcomes]:
        """P(C, fact | e) of every history fact without an answer."""
        tables = open_facts(self.case.knowledge, self.case.states, self.case.observations.history)
        return {
            fact: Outcomes((fact,), self.posterior[:, None] * table)
            for fact, table in tables.items()
            if fact not in self.case.recorded
        }

    def given_cause(self, findings: Sequence[str]) -> dict[str, Array]:
        """P(finding, e | C) of each finding by itself, shape (states of C, states), history left out."""
        return dict(zip(findings, self._with_cause([(self.case.node(f),) for f in findings]), strict=True))

    def joint_with(self, nodes: Sequence[str], tests: Sequence[Sequence[str]], by_cause: bool = False) -> list[Array]:
        """P(nodes, outcome | e) of each test, one axis a node, then one a finding of the test.

        by_cause: the initiating cause is the first axis, shape (states of C, ...).
        """
        weight = self.case.prior * self.case.history / self.probability_of_evidence
        rows = self._by_cause * weight[:, None] if by_cause else (weight @ self._by_cause)[None]
        tables = self._inference.weigh_with(self.case.causes, [(*nodes, *test) for test in tests], rows)
        return tables if by_cause else [table[0] for table in tables]

    def also_present(self) -> dict[str, float]:
        """P(F_c = yes now | e) of every cause: as the initiating one or beside it."""
        return {cause: chances[1] for cause, chances in self.faults().items()}

    def faults(self) -> dict[str, Array]:
        """P(F_c now | e), shape (2,) for no and yes, of every cause."""
        return {cause: self._beside[cause] for cause in self.case.causes}

    def chances(self, columns: Sequence[Mapping[str, Array]]) -> Array:
        """P(all of it | e) of each set of statements {fault or effect: 0 or 1 per state}, shape (columns,)."""
        return np.asarray(self._weighted(self._given_cause(columns)).sum(0))

    def effects(self) -> dict[str, Array]:
        """P(effect | e), shape (states,): damage as it is now, mechanisms as they were when the engine last ran."""
        return {effect: self._beside[effect] for effect in self.case.knowledge.effects}

    def unexplained(self) -> dict[str, float]:
        """For every finding seen to be out of the ordinary: the probability that nothing known is behind it."""
        if isinstance(self._now, Handed):
            return self._now.unexplained()
        try:
            told = self.unexplained_with_cause()
        except CliqueTooLarge:
            if self._now is None:
                raise
            return self._handed.unexplained()
        return {finding: float(weights.sum()) for finding, weights in told.items()}

    def unexplained_with_cause(self) -> dict[str, Array]:
        """P(C, nothing known is behind it | e) of every finding out of the ordinary, shape (states of C,)."""
        seen = [node for node, told in self.case.likelihood.items() if int(told.argmax()) > 0]
        seen = [node for node in seen if _finding_of(node) in self.case.knowledge.findings]
        columns = [self._parents_sound(finding) for finding in seen]
        given = self._given_cause(columns)
        found: dict[str, Array] = {}
        for i, node in enumerate(seen):
            finding, weights = _finding_of(node), self._weighted(given[:, i])
            found[finding] = weights if finding not in found else np.maximum(found[finding], weights)
        return found

    def _parents_sound(self, finding: str) -> dict[str, Array]:
        return {p: np.eye(self.case.faults.card(p))[0] for p in self.case.faults[finding].parents}

    @cached_property
    def _beside(self) -> dict[str, Array]:
        """P(node | e) of every fault and effect, mixed over the initiating cause."""
        if self._now is not None:
            try:
                return self._now.beside()
            except CliqueTooLarge:
                return self._handed.beside()
        nodes = [*self.case.causes, *self.case.knowledge.effects]
        lanes: list[dict[str, Array]] = [
            {cause: np.array([0.0, 1.0 / q])} for cause, q in zip(self.case.causes, self.case.coexistence, strict=True)
        ]
        weights = self._inference.run_columns(nodes, [*lanes, {}])[1]
        mixed = [weight @ (self.case.prior * self.case.history) for weight in weights]
        return {node: weight / weight.sum() for node, weight in zip(nodes, mixed, strict=True)}

    def _given_cause(self, columns: Sequence[Mapping[str, Array]]) -> Array:
        """P(e, column | C) without history, shape (states of C, columns)."""
        if not columns:
            return np.ones((len(self.case.states), 0))
        if not self.case.causes:
            return self._inference.run_columns((), columns)[0][None, :]
        weights = self._inference.run_columns(self.case.causes, columns)[1]
        return np.clip(self._by_cause @ np.concatenate(weights), 0.0, None)

    def _with_cause(self, tests: Sequence[Sequence[str]]) -> list[Array]:
        """P(e, outcome | C) of each test without history, shapes (states of C, ...)."""
        if not self.case.causes:
            return [self._inference.joint(test)[None] * self.probability_of_evidence for test in tests]
        return self._inference.weigh_with(self.case.causes, tests, self._by_cause)

    def with_effects(self, sets: Sequence[Sequence[str]]) -> list[Array]:
        """P(item, these effects | e) of each set, with the engine run in the present stage; shapes (states, ...).

        For cases with a repair, after which the engine has run or will run.
        """
        return self._by_item(sets, effects=True)

    def with_initiating(self, sets: Sequence[Sequence[str]]) -> list[Array]:
        """P(C, the nodes of each set | e), shapes (states of C, states of each node): about what started the trouble.

        Exact but for a factor, the same for all sets: 1 unless stages are handed on. Raises CliqueTooLarge where all
        stages together are too wide.
        """
        return [self._weighted(table) for table in self._with_cause(sets)]

    def _with_item(self, tests: Sequence[Sequence[str]]) -> list[Array]:
        """P(item, outcome | e) of each test, shapes (states, states of each finding)."""
        if self._now is None:
            return [self._weighted(table) for table in self._with_cause(tests)]
        return self._by_item(tests, effects=False)

    def _by_item(self, tests: Sequence[Sequence[str]], effects: bool) -> list[Array]:
        assert self._now is not None, "only a case with a repair has items of its own"
        try:
            tables = _joint(self._now, tests, effects)
        except CliqueTooLarge:
            return [_with_rows(table, self.posterior) for table in _joint(self._handed, tests, effects)]
        return [table / self.probability_of_evidence for table in tables]

    @cached_property
    def _handed(self) -> Handed:
        return Handed(self.case)

    @cached_property
    def _by_cause(self) -> Array:
        """P(e | C) from P(e, F = no or yes) of all faults, as a matrix: shape (states of C, 2 x causes).

        A cause's row takes its "yes" and divides by the prior of that; the last row, ``nothing_wrong``, takes
        both states of any fault.
        """
        causes = len(self.case.causes)
        rows = np.zeros((causes + 1, 2 * causes))
        rows[np.arange(causes), 2 * np.arange(causes) + 1] = 1.0 / self.case.coexistence
        rows[-1, :2] = 1.0
        return rows

    def _weighted(self, given: Array) -> Array:
        """P(c, ... | e) from P(e, ... | c)."""
        weight = self.case.prior * self.case.history / self.probability_of_evidence
        return np.asarray(given * weight.reshape((-1,) + (1,) * (given.ndim - 1)))


def _joint(now: NowList | Handed, tests: Sequence[Sequence[str]], effects: bool) -> list[Array]:
    nodes = now.effects if effects else now.findings
    return now.joint([tuple(nodes[name] for name in test) for test in tests])


def _with_rows(table: Array, rows: Array) -> Array:
    """The table with each row made to add up to what is wanted; shape (items, ...), rows: shape (items,)."""
    flat = table.reshape(len(table), -1)
    own = flat.sum(1)
    scale = np.divide(rows, own, out=np.zeros_like(rows), where=own > 0)
    return np.asarray((flat * scale[:, None]).reshape(table.shape))


def _shares(weights: Array) -> Array:
    """Weights made to add up to 1."""
    total = weights.sum()
    if not total > 0:
        raise ImpossibleEvidence("nothing known explains all that was recorded")
    return np.asarray(weights / total)


def _finding_of(node: str) -> str:
    """The finding whose node this is, in whatever stage; further looks (which have a mark of their own) are none."""
    return node.partition("@")[0] if "~" not in node else ""
