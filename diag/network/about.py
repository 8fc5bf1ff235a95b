"""What every question and test would tell about something else than the initiating cause: effects, damage, findings.

A cause stands for its fault: there or not, as the initiating one or beside it. Everything is mixed over the
initiating cause, exactly: P(x, t | e) = sum over c of P(c) P(x, t, e | c) / P(e).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import prod

import numpy as np
import numpy.typing as npt

from diag.network.diagnosis import Diagnosis
from diag.network.history import open_facts
from diag.network.inference import TooManyOutcomes
from diag.network.information import expected_information_gain, target_and_test

Array = npt.NDArray[np.float64]
MOST_STATES = 64


def gains_about(diagnosis: Diagnosis, about: Sequence[str]) -> dict[str, float]:
    """Expected information gain of every open question and test about the joint state of ``about``, in bits.

    about: ids of causes, effects and findings, one at least. Raises KeyError for any other id, TooManyOutcomes where
    they have more than 64 joint states.
    """
    network, about = diagnosis.case.faults, tuple(dict.fromkeys(about))
    if prod(network.card(node) for node in about) > MOST_STATES:
        raise TooManyOutcomes(f"{' + '.join(about)} have more than {MOST_STATES} joint states")
    tests = {
        id: outcome.findings
        for id, outcome in diagnosis.open_outcomes.items()
        if outcome.findings[0] not in diagnosis.case.knowledge.history
    }
    hidden = {id: tuple(f for f in findings if f not in about) for id, findings in tests.items()}
    tables = diagnosis.joint_with(about, list(hidden.values()))
    gains = {
        id: expected_information_gain(
            target_and_test(table, len(about), [about.index(f) for f in tests[id] if f in about])
        )
        for id, table in zip(hidden, tables, strict=True)
    }
    return {**gains, **_facts(diagnosis, about)}


def _facts(diagnosis: Diagnosis, about: Sequence[str]) -> dict[str, float]:
    """The same of facts about the past, which hang on the initiating cause alone."""
    case = diagnosis.case
    given = diagnosis.joint_with(about, [()], by_cause=True)[0].reshape(len(case.states), -1)
    tables: Mapping[str, Array] = open_facts(case.knowledge, case.states, case.observations.history)
    return {
        fact: expected_information_gain(given.T @ table) for fact, table in tables.items() if fact not in case.recorded
    }
