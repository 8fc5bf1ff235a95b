"""Random bases of fifteen causes, and random cases of several stages of them."""

import numpy as np
from oracle.knowledge import base, cause, effect, finding, look

from diag.knowledge.types import Knowledge
from diag.network.observations import Look, Mended, Observations

CAUSES = 15


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
