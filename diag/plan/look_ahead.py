"""A plan as a tree: an act, what may come of it, and what then, with what it all is expected to cost.

At every point the best few acts by one step are tried: each of their outcomes is recorded in thought, the network asked
again, and the cheapest in expectation taken (its cost, and what is expected afterwards). Below the depth asked, repair
and see is counted. All probabilities are exact; that only few acts are tried is what is given up.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from diag.knowledge.steps import after
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis, Outcomes
from diag.network.leader import leading
from diag.network.observations import Look, Observations
from diag.plan.act import Act, act
from diag.plan.locks import Effects, locked_by, locks_in_force
from diag.plan.repair_cost import RepairCosts, repair_costs
from diag.plan.settings import Settings

Array = npt.NDArray[np.float64]

TRIED = 3  # acts whose outcomes are looked into, at each point
ASKED = 14  # acts of the point before that are asked again after an outcome
RARE = 0.04  # outcomes together rarer than this are not looked into: repair and see is counted for them
BAD = 0.9


@dataclass(frozen=True)
class Branch:
    """One outcome: what it shows, how probable it is from the point before, and the plan from there."""

    findings: Mapping[str, str]
    probability: float
    then: PlanPoint


@dataclass(frozen=True)
class PlanPoint:
    """What is planned at one point. ``act`` None: no more tests, ``why`` says why; repair and see from here.

    expected_cost: of everything from here on, in the user's currency.
    """

    leader: str
    certainty: float
    expected_cost: float
    why: str
    act: Act | None = None
    branches: tuple[Branch, ...] = ()


@dataclass(frozen=True)
class Plan:
    """The tree and what it comes to: minutes and money as (median, bad case: nine in ten are better)."""

    depth: int
    root: PlanPoint
    sure: float
    minutes: tuple[float, float]
    money: tuple[float, float]


@dataclass(frozen=True, eq=False)
class _Point:
    """A state of knowledge that the search is at; asked: the acts that are open to it, None: all of the base."""

    diagnosis: Diagnosis
    settings: Settings
    effects: Effects
    asked: tuple[str, ...] | None = None

    @cached_property
    def repairs(self) -> RepairCosts:
        case = self.diagnosis.case
        return repair_costs(case.knowledge, self.diagnosis.states, self.settings, case.observations.access)

    @cached_property
    def to_repair(self) -> float:
        return float(self.repairs.expected(self.diagnosis.posterior))

    @cached_property
    def outcomes(self) -> Mapping[str, Outcomes]:
        if self.asked is None:
            return self.diagnosis.open_outcomes
        knowledge = self.diagnosis.case.knowledge
        shown = {
            id: knowledge.tests[id].reveals if id in knowledge.tests else (id,)
            for id in self.asked
            if id not in knowledge.history
        }
        facts = self.diagnosis.fact_outcomes() if len(shown) < len(self.asked) else {}
        return {**self.diagnosis.outcomes(shown), **{id: facts[id] for id in self.asked if id in facts}}

    @cached_property
    def choices(self) -> list[tuple[float, str]]:
        """Open acts that are not locked, with what is expected to be spent if repair follows, the cheapest first."""
        case = self.diagnosis.case
        locks = locks_in_force(case.knowledge, case.observations, self.effects)
        found = []
        for id, told in self.outcomes.items():
            of = self.act(id)
            access = case.knowledge.tests[id].access if id in case.knowledge.tests else ()
            if told.gain < self.settings.least_gain or of.way.barred_by or locked_by(locks, id, access, of.way):
                continue
            flat = told.joint.reshape(told.joint.shape[0], -1).T
            found.append((of.cost + self.settings.step + float(self.repairs.expected(flat).sum()), id))
        return sorted(found)

    def act(self, id: str) -> Act:
        return act(self.diagnosis.case, id, self.settings, self.effects)

    def after(self, id: str, states: Mapping[str, str]) -> _Point:
        """The point once the act showed these states; the same acts are open, and its steps were done."""
        case = self.diagnosis.case
        knowledge, seen = case.knowledge, case.observations
        asked_for = {f: knowledge.findings.get(f) or knowledge.history[f] for f in states}
        told_now = {f: _look(asked_for[f].states, f, s, seen.stage) for f, s in states.items()}
        looks = [look for f, look in told_now.items() if f in knowledge.findings]
        facts = [look for f, look in told_now.items() if f in knowledge.history]
        way, access = self.act(id).way, dict(seen.access)
        for step, reached in (*((s, False) for s in way.undone), *((s, True) for s in way.steps)):
            access = after(knowledge.access, access, step, reached)
        lost = {f for s in way.steps for f in (*knowledge.access[s].destroys, *knowledge.access[s].hides)}
        told: Observations = replace(
            seen,
            looks=(*seen.looks, *looks),
            history=(*seen.history, *facts),
            access=access,
            gone=seen.gone | (lost - {look.finding for look in seen.looks}),
        )
        asked = tuple(name for _, name in self.choices[:ASKED] if name != id)
        return _Point(Diagnosis(compile_case(knowledge, told)), self.settings, self.effects, asked)


def _look(states: Sequence[str], finding: str, state: str, stage: int) -> Look:
    return Look(finding, tuple(float(s == state) for s in states), False, 0, 1.0, stage)


def plan(diagnosis: Diagnosis, settings: Settings, depth: int = 2) -> Plan:
    """The plan from here, ``depth`` acts deep. Raises ImpossibleEvidence."""
    point = _Point(diagnosis, settings, diagnosis.effects())
    root = _best(point, depth)
    spent = list(_spent(root, point.repairs, settings, 0.0, 0.0, 1.0))
    weights = np.array([weight for weight, _, _ in spent])
    minutes = _both(np.array([m for _, m, _ in spent]), weights)
    money = _both(np.array([m for _, _, m in spent]), weights)
    return Plan(depth, root.shown, _sure(root.shown, settings), minutes, money)


@dataclass(frozen=True, eq=False)
class _Made:
    """A point of the plan with what was believed there, and its branches with theirs."""

    shown: PlanPoint
    posterior: Array
    below: tuple[tuple[float, _Made], ...] = field(default_factory=tuple)


def _best(point: _Point, depth: int) -> _Made:
    leader, certainty = leading(point.diagnosis, point.diagnosis.posterior)
    stop = _PLAIN.format(point.to_repair)
    made = _Made(PlanPoint(leader, certainty, point.to_repair, stop), point.diagnosis.posterior)
    if certainty >= point.settings.certainty:
        return replace(made, shown=replace(made.shown, why="sure enough"))
    if depth == 0:
        return replace(made, shown=replace(made.shown, why="as far as was looked"))
    if not point.choices:
        return replace(made, shown=replace(made.shown, why="nothing left that tells"))
    for _, id in point.choices[:TRIED]:
        tried = _follow(point, id, depth)
        if tried.shown.expected_cost < made.shown.expected_cost:
            made = tried
    return made


_PLAIN = "no act is worth it; repair and see is expected to cost {:.0f}"


def _follow(point: _Point, id: str, depth: int) -> _Made:
    of, told = point.act(id), point.outcomes[id]
    cost = of.cost + point.settings.step
    branches: list[tuple[float, Mapping[str, str], _Made]] = []
    for states, joint in _outcomes(point, told):
        chance = float(joint.sum())
        if chance < RARE or depth == 1:
            below = _leaf(point, joint / chance, "rare, not looked into" if chance < RARE else "as far as was looked")
        else:
            below = _best(point.after(id, states), depth - 1)
        cost += chance * below.shown.expected_cost
        branches.append((chance, states, below))
    leader, certainty = leading(point.diagnosis, point.diagnosis.posterior)
    shown = PlanPoint(leader, certainty, cost, "", of, tuple(Branch(s, p, b.shown) for p, s, b in branches))
    return _Made(shown, point.diagnosis.posterior, tuple((p, b) for p, _, b in branches))


def _leaf(point: _Point, posterior: Array, why: str) -> _Made:
    leader, certainty = leading(point.diagnosis, posterior)
    if certainty >= point.settings.certainty:
        why = "sure enough"
    return _Made(PlanPoint(leader, certainty, float(point.repairs.expected(posterior)), why), posterior)


def _outcomes(point: _Point, told: Outcomes) -> Iterator[tuple[Mapping[str, str], Array]]:
    """States by finding and P(c, outcome | e) of every outcome that can come, the likeliest first."""
    knowledge = point.diagnosis.case.knowledge
    states = [(knowledge.findings.get(f) or knowledge.history[f]).states for f in told.findings]
    flat = told.joint.reshape(told.joint.shape[0], -1)
    for place in np.argsort(-flat.sum(0), kind="stable").tolist():
        if flat[:, place].any():
            seen = np.unravel_index(place, told.joint.shape[1:])
            yield {f: s[int(i)] for f, s, i in zip(told.findings, states, seen, strict=True)}, flat[:, place]


def _sure(point: PlanPoint, settings: Settings) -> float:
    """Probability that the leader is likelier than the certainty wanted where the plan ends."""
    if not point.branches:
        return float(point.certainty >= settings.certainty)
    return sum(branch.probability * _sure(branch.then, settings) for branch in point.branches)


def _spent(
    made: _Made, repairs: RepairCosts, settings: Settings, minutes: float, money: float, weight: float
) -> Iterator[tuple[float, float, float]]:
    """(probability, minutes, money) of every way it can end: tests of the plan, then repairs until one helps."""
    of = made.shown.act
    if of is not None:
        for chance, below in made.below:
            yield from _spent(below, repairs, settings, minutes + of.minutes, money + of.money, weight * chance)
        return
    left = 1.0
    for place, helps in repairs.sequence(made.posterior):
        minutes, money = minutes + float(repairs.minutes[place]), money + float(repairs.money[place])
        yield weight * helps, minutes, money
        left -= helps
    yield weight * max(left, 0.0), minutes, money + settings.ending


def _both(values: Array, weights: Array) -> tuple[float, float]:
    """Median and bad case."""
    order = np.argsort(values, kind="stable")
    reached = np.cumsum(weights[order])
    places = np.minimum(np.searchsorted(reached / reached[-1], [0.5, BAD]), len(values) - 1)
    half, bad = values[order][places]
    return float(half), float(bad)
