"""Laws of repairs: what is not touched does not move, what surely succeeds is gone, order in a stage is idle."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from oracle.staged_cases import random_log, reduced_base

from diag.explain import likely_causes
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.observations import Mended, Observations
from diag.show.as_json import to_json

SEEDS = st.integers(0, 10_000)
FEW = settings(max_examples=25, deadline=None)


def drawn(seed: int, stages: int = 2) -> tuple:
    random = np.random.default_rng(seed)
    knowledge = reduced_base(random, causes=6)
    return knowledge, random_log(random, knowledge, stages)


def answers(knowledge, observations: Observations) -> dict[str, float]:
    """Everything on the list, whatever is there, and every damage."""
    diagnosis = Diagnosis(compile_case(knowledge, observations))
    told = dict(zip(diagnosis.states, diagnosis.posterior.tolist(), strict=True))
    told |= {f"{cause}, there": p for cause, p in diagnosis.also_present().items()}
    return told | {f"{e}, state {i}": p for e, row in diagnosis.effects().items() for i, p in enumerate(row.tolist())}


@FEW
@given(seed=SEEDS)
def test_repairing_what_has_nothing_to_do_with_it_moves_nothing(seed: int) -> None:
    """A damage that nothing brings about, put right without side effects."""
    knowledge, observations = drawn(seed)
    idle = replace(knowledge.effects["warped"], id="idle", name="idle", leak={}, leads_to=(), shows=())
    knowledge = replace(knowledge, effects={**knowledge.effects, "idle": idle})
    before = answers(knowledge, observations)
    mended = (*observations.mended, Mended(observations.stage + 1, {"idle": 0.9}, {}))
    after = answers(knowledge, replace(observations, mended=mended))
    assert {name: after[name] for name in before} == pytest.approx(before, abs=1e-9)


@FEW
@given(seed=SEEDS, place=st.integers(0, 5))
def test_a_repair_that_always_succeeds_ends_the_fault(seed: int, place: int) -> None:
    knowledge, observations = drawn(seed)
    cause = sorted(knowledge.causes)[place]
    mended = (*observations.mended, Mended(observations.stage + 1, {cause: 1.0}, {}))
    after = answers(knowledge, replace(observations, mended=mended))
    assert after[f"{cause}, there"] == pytest.approx(0.0, abs=1e-12)
    assert after[cause] == pytest.approx(0.0, abs=1e-12)
    failing = (*observations.mended, Mended(observations.stage + 1, {cause: 0.5}, {}))
    half = answers(knowledge, replace(observations, mended=failing))
    before = answers(knowledge, observations)
    assert half[f"{cause}, there"] == pytest.approx(before[f"{cause}, there"] / 2, rel=1e-6)


@FEW
@given(seed=SEEDS, turn=st.randoms(use_true_random=False))
def test_the_order_of_facts_within_a_stage_says_nothing(seed: int, turn) -> None:
    knowledge, observations = drawn(seed, stages=3)
    looks = list(observations.looks)
    turn.shuffle(looks)
    turned = replace(observations, looks=tuple(looks))
    first, second = (
        to_json({"causes": likely_causes(Diagnosis(compile_case(knowledge, told)))}) for told in (observations, turned)
    )
    assert first == second


@FEW
@given(seed=SEEDS)
def test_the_list_adds_up_to_one_and_its_reasons_to_the_list(seed: int) -> None:
    knowledge, observations = drawn(seed, stages=3)
    diagnosis = Diagnosis(compile_case(knowledge, observations))
    assert diagnosis.posterior.sum() == pytest.approx(1.0, abs=1e-12)
    for item, p in zip(diagnosis.states[:-1], diagnosis.posterior.tolist(), strict=False):
        assert sum(diagnosis.reasons[item].values()) == pytest.approx(p, abs=1e-9)
