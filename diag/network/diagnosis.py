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
from diag.network.history import open_facts
from diag.network.inference import ImpossibleEvidence, Inference
from diag.network.information import expected_information_gain
from diag.network.reading_gain import channels_of, through_channels

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Outcomes:
    """The joint outcomes of one test.

    findings: the axes of ``joint`` after the first; joint: P(c, outcome | e), shape (states of C, ...). channels: for
    each finding that is read from an instrument, P(reading | state).
    """

    findings: tuple[str, ...]
    joint: Array
    channels: tuple[Array | None, ...] = ()

    @cached_property
    def gain(self) -> float:
        """Expected information gain about the initiating cause, in bits; of the figures where they are read."""
        return expected_information_gain(through_channels(self.joint, self.channels))


class Diagnosis:
    """A compiled case, asked. Raises ImpossibleEvidence where nothing can explain what was recorded."""

    def __init__(self, case: CaseNetwork) -> None:
        self.case = case
        self._inference = Inference(case.faults, case.likelihood)

    @cached_property
    def evidence_given_cause(self) -> Array:
        """P(e | C), history included, shape (states of C,)."""
        return np.asarray(self._given_cause([{}])[:, 0] * self.case.history)

    @cached_property
    def probability_of_evidence(self) -> float:
        """P(e); 0 where the evidence is impossible."""
        return float(self.case.prior @ self.evidence_given_cause)

    @cached_property
    def posterior(self) -> Array:
        """P(C | e), shape (states of C,), adds up to 1."""
        weights = self.case.prior * self.evidence_given_cause
        total = weights.sum()
        if not total > 0:
            raise ImpossibleEvidence("nothing known explains all that was recorded")
        return np.asarray(weights / total)

    @property
    def leader(self) -> str:
        """The likeliest single cause (residual causes and ``nothing_wrong`` included)."""
        return self.case.states[int(self.posterior.argmax())]

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
        tables = self._with_cause(list(asked.values()))
        return {
            test: Outcomes(findings, self._weighted(table), channels_of(self.case, findings))
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
        return {**self.outcomes({**asked, **tests}), **self.fact_outcomes()}

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
        return dict(zip(findings, self._with_cause([(f,) for f in findings]), strict=True))

    def joint_with(self, nodes: Sequence[str], tests: Sequence[Sequence[str]], by_cause: bool = False) -> list[Array]:
        """P(nodes, outcome | e) of each test, one axis a node, then one a finding of the test.

        by_cause: the initiating cause is the first axis, shape (states of C, ...).
        """
        weight = self.case.prior * self.case.history / self.probability_of_evidence
        rows = self._by_cause * weight[:, None] if by_cause else (weight @ self._by_cause)[None]
        tables = self._inference.weigh_with(self.case.causes, [(*nodes, *test) for test in tests], rows)
        return tables if by_cause else [table[0] for table in tables]

    def also_present(self) -> dict[str, float]:
        """P(F_c = yes | e) of every cause: as the initiating one or beside it."""
        return {cause: chances[1] for cause, chances in self.faults().items()}

    def faults(self) -> dict[str, Array]:
        """P(F_c | e), shape (2,) for no and yes, of every cause."""
        return {cause: self._beside[cause] for cause in self.case.causes}

    def chances(self, columns: Sequence[Mapping[str, Array]]) -> Array:
        """P(all of it | e) of each set of statements {fault or effect: 0 or 1 per state}, shape (columns,)."""
        return np.asarray(self._weighted(self._given_cause(columns)).sum(0))

    def effects(self) -> dict[str, Array]:
        """P(effect | e), shape (states,), of every effect."""
        return {effect: self._beside[effect] for effect in self.case.knowledge.effects}

    def unexplained(self) -> dict[str, float]:
        """For every finding seen to be out of the ordinary: the probability that nothing known is behind it."""
        return {finding: float(weights.sum()) for finding, weights in self.unexplained_with_cause().items()}

    def unexplained_with_cause(self) -> dict[str, Array]:
        """P(C, nothing known is behind it | e) of every finding out of the ordinary, shape (states of C,)."""
        seen = [f for f, told in self.case.likelihood.items() if f in self.case.faults and int(told.argmax()) > 0]
        seen = [f for f in seen if f in self.case.knowledge.findings]
        columns = [self._parents_sound(finding) for finding in seen]
        given = self._given_cause(columns)
        return {f: self._weighted(given[:, i]) for i, f in enumerate(seen)}

    def _parents_sound(self, finding: str) -> dict[str, Array]:
        return {p: np.eye(self.case.faults.card(p))[0] for p in self.case.faults[finding].parents}

    @cached_property
    def _beside(self) -> dict[str, Array]:
        """P(node | e) of every fault and effect, mixed over the initiating cause."""
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
