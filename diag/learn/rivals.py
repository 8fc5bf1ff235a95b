"""The ranking methods that are compared: ours, the prior alone, and naive Bayes with the same marginals."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from itertools import chain

import numpy as np
import numpy.typing as npt

from diag.network.case_network import UNLISTED, UNLISTED_ID, CaseNetwork, compile_case
from diag.network.diagnosis import Diagnosis

Array = npt.NDArray[np.float64]
Ranked = Mapping[str, float]


def ours(case: CaseNetwork) -> Ranked:
    """The posterior of the initiating cause."""
    return _by_cause(case, Diagnosis(case).posterior)


def prior_only(case: CaseNetwork) -> Ranked:
    """The weights of the causes that apply to the vehicle, whatever was seen."""
    return _by_cause(case, case.prior)


def naive_bayes(case: CaseNetwork) -> Ranked:
    """Every finding and fact taken as independent given the cause, with the marginals of the full model."""
    blank = compile_case(case.knowledge, replace(case.observations, looks=(), history=()))
    diagnosis = Diagnosis(blank)
    told = {look.finding: look.likelihood for look in case.observations.looks if look.likelihood}
    marginals = diagnosis.outcomes({finding: (finding,) for finding in told})
    facts = diagnosis.fact_outcomes()
    weights = np.log(blank.prior)
    for look in chain(case.observations.looks, case.observations.history):
        if look.likelihood is not None:
            outcome = marginals.get(look.finding) or facts[look.finding]
            given = outcome.joint / blank.prior[:, None]
            weights = weights + np.log(np.maximum(given @ np.array(look.likelihood), 1e-300))
    posterior = np.exp(weights - weights.max())
    return _by_cause(case, posterior / posterior.sum())


def _by_cause(case: CaseNetwork, probabilities: Array) -> Ranked:
    """By id, the residual causes together as ``unlisted``."""
    found: dict[str, float] = {}
    for state, p in zip(case.states, probabilities.tolist(), strict=True):
        name = UNLISTED_ID if state.startswith(UNLISTED) else state
        found[name] = found.get(name, 0.0) + p
    return found


METHODS: Mapping[str, Callable[[CaseNetwork], Ranked]] = {
    "ours": ours,
    "prior_only": prior_only,
    "naive_bayes": naive_bayes,
}
