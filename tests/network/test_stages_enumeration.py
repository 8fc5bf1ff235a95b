"""Cases with repairs against every world enumerated: what keeps the trouble going now, and what is there."""

import numpy as np
import pytest
from oracle.knowledge import base, cause, effect, finding, look
from oracle.stages import Worlds

from diag.knowledge.types import Knowledge
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis
from diag.network.handed import Handed
from diag.network.now import NowList
from diag.network.observations import Look, Mended, Observations

CAUSES = 15
LOGS = 50


def reduced_base(random: np.random.Generator, causes: int = CAUSES) -> Knowledge:
    """Two mechanisms, one of them with degrees, two kinds of damage, what shows each of them, and the causes alone."""

    def p(low: float = 0.1, high: float = 0.9) -> float:
        return float(random.uniform(low, high))

    heat = {"yes": {"hot": p(0.2, 0.5), "boiled": p(0.1, 0.4)}}
    by_heat = {"hot": {"yes": p(0.05, 0.3)}, "boiled": {"yes": p(0.3, 0.8)}}
    effects = [
        effect("low", {"yes": 0.02}, {"heat": heat}, {"topped_up": p()}),
        effect(
            "heat",
            {"hot": 0.02, "boiled": 0.005},
            {"gasket": by_heat, "warped": by_heat},
            {"gauge": {"hot": {"yes": p()}, "boiled": {"yes": p()}}},
            states=("none", "hot", "boiled"),
        ),
        effect("gasket", {"yes": 0.01}, {}, {"bubbles": p(), "straightedge": p(0.1, 0.3)}, kind="damage"),
        effect("warped", {"yes": 0.01}, {"gasket": p(0.2, 0.6)}, {"straightedge": p()}, kind="damage"),
    ]
    made = []
    for i in range(causes):
        leads = {"low": p()} if i % 3 == 0 else {"heat": {"yes": {"hot": p(0.2, 0.5), "boiled": p(0.1, 0.4)}}}
        made.append(cause(f"cause{i:02}", p(0.5, 5.0), leads, {f"own{i % 4}": p()}))
    findings = [finding(f, {"yes": p(0.02, 0.1)}) for f in ("topped_up", "gauge", "bubbles", "straightedge")]
    findings += [finding(f"own{i}", {"yes": p(0.02, 0.1)}) for i in range(4)]
    return base(made, findings, effects)


def random_log(random: np.random.Generator, knowledge: Knowledge, stages: int) -> Observations:
    """A complaint, looks in every stage (the same thing once a stage, what rests once at all), repairs between."""
    looks: list[Look] = [look("gauge", (0.0, 1.0), complaint=True)]
    resting = {"straightedge", "bubbles", *(f"own{i}" for i in range(4))}
    mended = []
    for stage in range(1, stages + 1):
        done = {*_seen(looks, resting), *(["gauge"] if stage == 1 else [])}
        open_now = [f for f in knowledge.findings if f not in done]
        for name in random.permutation(open_now)[: random.integers(0, 4)].tolist():
            state = int(random.integers(0, 2))
            told = (float(state == 0), float(state == 1)) if random.random() < 0.7 else tuple(random.uniform(0.1, 1, 2))
            looks.append(look(name, told, stage=stage))
        if stage < stages:
            mended.append(_repair(random, knowledge, stage + 1))
    return Observations(tuple(looks), (), {}, frozenset(), None, {}, mended=tuple(mended))


def _seen(looks: list[Look], resting: set[str]) -> set[str]:
    return {look.finding for look in looks if look.finding in resting}


def _repair(random: np.random.Generator, knowledge: Knowledge, stage: int) -> Mended:
    things = [*knowledge.causes, "gasket", "warped"]
    put_right = random.permutation(things)[: random.integers(1, 4)].tolist()
    brought = random.permutation(list(knowledge.causes))[: random.integers(0, 3)].tolist()
    success = {name: float(random.choice([1.0, random.uniform(0.6, 0.99)])) for name in put_right}
    return Mended(stage, success, {name: float(random.uniform(0.02, 0.3)) for name in brought})


@pytest.mark.parametrize("seed", range(LOGS))
def test_three_stages_by_every_world(seed: int) -> None:
    random = np.random.default_rng(seed)
    knowledge = reduced_base(random)
    observations = random_log(random, knowledge, 3)
    case = compile_case(knowledge, observations)
    worlds = Worlds(knowledge, observations)
    wanted = worlds.list_now()
    total = worlds.weight.sum()
    exact = NowList(case).shares
    assert exact.sum() == pytest.approx(total, rel=1e-10)
    items = NowList(case).items
    np.testing.assert_allclose(exact / total, [wanted[i] / total for i in items], atol=1e-10)
    handed = Handed(case).shares
    distance = np.abs(handed / handed.sum() - exact / total).sum() / 2
    assert distance < 0.03
    diagnosis = Diagnosis(case)
    assert diagnosis.method == "exact"
    for name, p in diagnosis.also_present().items():
        assert p == pytest.approx(worlds.present(name), abs=1e-10)
