"""The ranking methods that are compared: ours, the prior alone, and naive Bayes with the same marginals."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from diag.network.case_network import UNLISTED, UNLISTED_ID, CaseNetwork, compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.history import open_facts

Array = npt.NDArray[np.float64]
Ranked = Mapping[str, float]

LEAST = 1e-300  # below every likelihood that a base can give; keeps the logarithm finite


def ours(case: CaseNetwork) -> Ranked:
    """The posterior of the initiating cause."""
    return by_cause(case, Diagnosis(case).posterior)


def prior_only(case: CaseNetwork) -> Ranked:
    """The weights of the causes that apply to the vehicle, whatever was seen."""
    return by_cause(case, case.prior)


def naive_bayes(case: CaseNetwork) -> Ranked:
    """Every finding and fact taken as independent given the cause, with the marginals of the full model."""
    # Looks without an answer keep what is the complaint, and with it its false-alarm probability.
    silent = tuple(replace(look, likelihood=None) for look in case.observations.looks)
    blank = compile_case(case.knowledge, replace(case.observations, looks=silent, history=()))
    diagnosis = Diagnosis(blank)
    given = diagnosis.given_cause(sorted({look.finding for look in case.observations.looks if look.likelihood}))
    given |= open_facts(case.knowledge, case.states, ())
    weights = np.log(blank.prior)
    for look in (*case.observations.looks, *case.observations.history):
        if look.likelihood is not None:
            weights = weights + np.log(np.maximum(given[look.finding] @ np.array(look.likelihood), LEAST))
    posterior = np.exp(weights - weights.max())
    return by_cause(case, posterior / posterior.sum())


def by_cause(case: CaseNetwork, probabilities: Array) -> Ranked:
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
