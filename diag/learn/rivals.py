"""The ranking methods that are compared: ours, the prior alone, and naive Bayes with the same marginals."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from diag.network.case_network import UNLISTED_ID, CaseNetwork
from diag.network.children import UNLISTED
from diag.network.diagnosis import Diagnosis
from diag.network.history import group_table, groups

Array = npt.NDArray[np.float64]
Ranked = Mapping[str, float]

LEAST = 1e-300  # below every likelihood that a base can give; keeps the logarithm finite


class Marginals:
    """P(finding | C) and P(fact | C), each by itself, of a case: those of its network with nothing told.

    The false alarm of the complaint is as it is in the case. Worked out once, when first asked for.
    """

    def __init__(self, case: CaseNetwork) -> None:
        self.case = case

    @cached_property
    def given(self) -> dict[str, Array]:
        """Per finding and fact that has an answer: shape (states of C, its states)."""
        return {**self._findings(), **dict(self._facts())}

    def _findings(self) -> dict[str, Array]:
        seen = sorted({look.finding for look in self.case.observations.looks})
        return Diagnosis(replace(self.case, likelihood={}, history=np.ones(len(self.case.states)))).given_cause(seen)

    def _facts(self) -> Iterator[tuple[str, Array]]:
        told = {look.finding for look in self.case.observations.history}
        for facts in groups(self.case.knowledge).values():
            if any(fact.id in told for fact in facts):
                table = group_table(facts, self.case.states)
                for own, fact in enumerate(facts, start=1):
                    yield fact.id, table.sum(tuple(axis for axis in range(1, table.ndim) if axis != own))


@dataclass(frozen=True, eq=False)
class Asked:
    """A case as far as one view tells it. ``marginals`` may be those of a view that tells more."""

    diagnosis: Diagnosis
    marginals: Marginals


def ours(asked: Asked) -> Ranked:
    """The posterior of the initiating cause."""
    return by_cause(asked.diagnosis.case, asked.diagnosis.posterior)


def prior_only(asked: Asked) -> Ranked:
    """The weights of the causes that apply to the vehicle, whatever was seen."""
    return by_cause(asked.diagnosis.case, asked.diagnosis.case.prior)


def naive_bayes(asked: Asked) -> Ranked:
    """Every look and fact taken as independent given the cause, with the marginals of the full model."""
    case = asked.diagnosis.case
    weights = np.log(case.prior)
    for look in (*case.observations.looks, *case.observations.history):
        if look.likelihood is not None:
            told = asked.marginals.given[look.finding] @ np.array(look.likelihood)
            weights = weights + np.log(np.maximum(told, LEAST))
    posterior = np.exp(weights - weights.max())
    return by_cause(case, posterior / posterior.sum())


def by_cause(case: CaseNetwork, probabilities: Array) -> Ranked:
    """By id, the residual causes together as ``unlisted``."""
    found: dict[str, float] = {}
    for state, p in zip(case.states, probabilities.tolist(), strict=True):
        name = UNLISTED_ID if state.startswith(UNLISTED) else state
        found[name] = found.get(name, 0.0) + p
    return found


METHODS: Mapping[str, Callable[[Asked], Ranked]] = {
    "ours": ours,
    "prior_only": prior_only,
    "naive_bayes": naive_bayes,
}
