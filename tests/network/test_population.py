"""The drawn population against the exact network: the sample's error, and no more than that."""

import numpy as np
import pytest

from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.observations import Look, Observations
from diag.network.population import draw_population
from diag.session import load_knowledge

KNOWLEDGE = load_knowledge()
NOTHING = Observations((), (), {}, frozenset(), None, {})
EACH = 300


@pytest.fixture(scope="module")
def population():
    return draw_population(compile_case(KNOWLEDGE, NOTHING), EACH, np.random.default_rng(4))


def look(finding: str, state: str) -> Look:
    states = KNOWLEDGE.findings[finding].states
    return Look(finding, tuple(float(s == state) for s in states), False, 1, 1.0)


def test_without_evidence_it_has_the_prior_and_the_effects(population):
    case = compile_case(KNOWLEDGE, NOTHING)
    assert np.bincount(population.cause, population.weight) == pytest.approx(case.prior)
    exact = Diagnosis(case).effects()
    for effect, drawn in population.effects.items():
        there = population.weight[drawn > 0].sum()
        assert there == pytest.approx(1 - exact[effect][0], abs=0.03)  # 33,000 machines, weighted: 3 points is ample


@pytest.mark.parametrize(
    "told",
    [
        {"overheats_standing": "yes", "overheats_at_load": "no", "fan_silent_hot": "yes"},
        {"coolant_level_drops": "yes", "leak_visible": "no", "hoses_hard_soon": "yes"},
        {"heater_cold": "yes", "warms_up_slowly": "yes"},
    ],
)
def test_a_few_findings_move_it_as_they_move_the_network(population, told):
    states = {f: KNOWLEDGE.findings[f].states.index(s) for f, s in told.items()}
    weight = population.weight * np.prod([population.chances[f][:, s] for f, s in states.items()], axis=0)
    sampled = np.bincount(population.cause, weight / weight.sum(), minlength=len(population.states))
    seen = Observations(tuple(look(f, s) for f, s in told.items()), (), {}, frozenset(), None, {})
    exact = Diagnosis(compile_case(KNOWLEDGE, seen)).posterior
    assert np.abs(sampled - exact).sum() / 2 < 0.1  # total variation; 0.02 to 0.06 when measured
