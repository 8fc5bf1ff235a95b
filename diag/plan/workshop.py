"""One simulated vehicle in the workshop: what is believed of it, what each act would tell and take, what comes of it.

All policies meet the same vehicle: the same machine behind it, the same answers, the same repairs that succeed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from diag.knowledge.steps import after
from diag.knowledge.types import Knowledge
from diag.network.children import UNLISTED
from diag.network.population import Population
from diag.plan.access import Way, way_to
from diag.plan.act import QUESTION_MINUTES
from diag.plan.cost import price
from diag.plan.locks import expected_harm
from diag.plan.repair_cost import RepairCosts
from diag.plan.settings import Settings

Array = npt.NDArray[np.float64]
NEGLIGIBLE = 5e-4  # machines that are this share together are let go, where they are more than FEW of all
FEW = 0.3
DROWSY = 0.25  # an act that tells less than this part of the least gain is not looked at for some steps
REST = 4


@dataclass(frozen=True, eq=False)
class Plant:
    """What does not change from vehicle to vehicle.

    acts: findings by test or question; order: acts as a fixed list would have them; watched: effects that locks and
    harm ask for.
    """

    knowledge: Knowledge
    settings: Settings
    repairs: RepairCosts
    acts: Mapping[str, tuple[str, ...]]
    order: tuple[str, ...]
    watched: tuple[str, ...]
    ways: dict[tuple[str, frozenset[str]], Way] = field(default_factory=dict)

    def way(self, act: str, held: frozenset[str]) -> Way:
        """The way to a test from where the vehicle stands, kept."""
        key = (act, held)
        if key not in self.ways:
            access = self.knowledge.tests[act].access if act in self.knowledge.tests else ()
            self.ways[key] = way_to(self.knowledge, access, dict.fromkeys(held, True))
        return self.ways[key]


@dataclass(frozen=True, eq=False)
class Vehicle:
    """What is true of one vehicle, and what was told of it when it came in (findings and their states, numbers)."""

    cause: int
    findings: Mapping[str, int]
    effects: Mapping[str, int]
    intake: Mapping[str, int]
    number: int


@dataclass(frozen=True, eq=False)
class Scene:
    """A vehicle, the machines of the population that it may still be (their rows), and tables of what they show."""

    plant: Plant
    vehicle: Vehicle
    population: Population
    rows: npt.NDArray[np.intp]
    tables: dict[tuple[str, ...], Array] = field(default_factory=dict)

    @cached_property
    def cause(self) -> npt.NDArray[np.intp]:
        """The number of each machine's initiating cause, ascending."""
        return self.population.cause[self.rows]

    @cached_property
    def _starts(self) -> npt.NDArray[np.intp]:
        return np.flatnonzero(np.diff(self.cause, prepend=-1))

    def by_cause(self, columns: Array) -> Array:
        """Sums over the machines of each cause; columns: shape (machines, K). Returns shape (states of C, K)."""
        found = np.zeros((len(self.population.states), columns.shape[1]))
        found[self.cause[self._starts]] = np.add.reduceat(columns, self._starts, axis=0)
        return found

    def there(self, effect: str, weight: Array) -> float:
        """P(effect in any but its sound state)."""
        return float(weight[self.population.effects[effect][self.rows] > 0].sum())

    def table(self, findings: tuple[str, ...]) -> Array:
        """P(joint outcome | machine), shape (machines, outcomes), the last finding running fastest."""
        if findings not in self.tables:
            table = np.ones((len(self.rows), 1))
            for finding in findings:
                chances = self.population.chances[finding][self.rows]
                table = (table[:, :, None] * chances[:, None, :]).reshape(len(table), -1)
            self.tables[findings] = table
        return self.tables[findings]

    def only(self, kept: npt.NDArray[np.bool_]) -> Scene:
        """The same without the machines that are not ``kept``."""
        tables = {findings: table[kept] for findings, table in self.tables.items()}
        return Scene(self.plant, self.vehicle, self.population, self.rows[kept], tables)


@dataclass(frozen=True, eq=False)
class View:
    """What is believed now: weight of each machine, findings that are seen or gone, steps that hold.

    awake: the acts that are looked at, None: all; those that told next to nothing rest for a few steps (``age``).
    tried: causes whose repair did not help.
    """

    scene: Scene
    weight: Array
    closed: frozenset[str]
    held: frozenset[str] = frozenset()
    awake: frozenset[str] | None = None
    age: int = 0
    tried: frozenset[int] = frozenset()

    @cached_property
    def posterior(self) -> Array:
        """P(C), shape (states,)."""
        return self.scene.by_cause(self.weight[:, None])[:, 0]

    @cached_property
    def effects(self) -> dict[str, Array]:
        """The effects that locks and harm ask for."""
        there = {e: self.scene.there(e, self.weight) for e in self.scene.plant.watched}
        return {effect: np.array([1 - p, p]) for effect, p in there.items()}

    @cached_property
    def open_acts(self) -> dict[str, tuple[str, ...]]:
        """The findings that each act would still show; acts that would show none or are locked are left out."""
        plant = self.scene.plant
        acts = plant.acts if self.awake is None else {act: plant.acts[act] for act in plant.acts if act in self.awake}
        left = {act: tuple(f for f in shown if f not in self.closed) for act, shown in acts.items()}
        return {act: shown for act, shown in left.items() if shown and not self._locked(act)}

    @cached_property
    def _bars(self) -> tuple[frozenset[str], frozenset[str]]:
        steps: set[str] = set()
        tests: set[str] = set()
        for lock in self.scene.plant.knowledge.locks.values():
            if any(self.effects[e][1] > limit.value for e, limit in lock.likely.items()):
                steps |= set(lock.bars)
                tests |= set(lock.tests)
        return frozenset(steps), frozenset(tests)

    def _locked(self, act: str) -> bool:
        knowledge = self.scene.plant.knowledge
        if act not in knowledge.tests:
            return False
        steps, tests = self._bars
        way = self.scene.plant.way(act, self.held)
        return act in tests or bool(way.barred_by) or bool(steps & {*knowledge.tests[act].access, *way.steps})

    @cached_property
    def joints(self) -> tuple[tuple[str, ...], Array, npt.NDArray[np.intp]]:
        """All open acts, P(c, outcome) of all their outcomes side by side, and where each act's begin."""
        acts = tuple(self.open_acts)
        tables = [self.scene.table(self.open_acts[act]) for act in acts]
        starts = np.cumsum([0, *(table.shape[1] for table in tables)])[:-1].astype(np.intp)
        if not tables:
            return (), np.zeros((len(self.scene.population.states), 0)), starts
        weight = self.weight[:, None]  # one act at a time: small enough to stay in the processor's cache
        return acts, np.concatenate([self.scene.by_cause(table * weight) for table in tables], axis=1), starts

    @cached_property
    def gains(self) -> Array:
        """Bits about the initiating cause, shape (open acts,)."""
        _, joint, starts = self.joints
        return _gains(joint, starts, self.posterior)

    def gains_about(self, state: int) -> Array:
        """Bits about whether it is this cause, shape (open acts,)."""
        _, joint, starts = self.joints
        two = np.stack([joint[state], joint.sum(0) - joint[state]])
        p = self.posterior[state]
        return _gains(np.clip(two, 0.0, None), starts, np.array([p, 1 - p]))

    @cached_property
    def costs(self) -> Array:
        """What each open act takes, its step of attention and expected harm included, shape (open acts,)."""
        return np.array([self.cost(act, self.effects) for act in self.joints[0]])

    def cost(self, act: str, effects: Mapping[str, Array]) -> float:
        """What an act takes from here; effects: believed, or true ones as 0 and 1."""
        settings, knowledge = self.scene.plant.settings, self.scene.plant.knowledge
        if act not in knowledge.tests:
            return price(settings, QUESTION_MINUTES, 0.0, 0.0) + settings.step
        test, way = knowledge.tests[act], self.scene.plant.way(act, self.held)
        minutes = test.minutes.value + way.minutes + way.undo_minutes
        waiting = way.waiting + (test.waiting.value if test.waiting else 0.0)
        missing = 0 if settings.tools is None else len(set(test.tools) - settings.tools)
        harm = expected_harm([test.harm, *(knowledge.access[s].harm for s in way.steps)], effects)
        return price(settings, minutes, waiting, test.money.value, missing, harm) + settings.step

    @cached_property
    def saves(self) -> Array:
        """What each open act takes off the expected cost of repair, shape (open acts,)."""
        acts, joint, starts = self.joints
        saved = np.zeros(len(acts))
        tells = self.gains >= self.scene.plant.settings.least_gain
        if tells.any():
            ends = np.append(starts[1:], joint.shape[1])
            chosen = np.concatenate([np.arange(a, b) for a, b in zip(starts[tells], ends[tells], strict=True)])
            then = np.zeros(joint.shape[1])
            then[chosen] = self.repairs.expected(joint[:, chosen].T)
            saved[tells] = np.maximum(self.to_repair - np.add.reduceat(then, starts)[tells], 0.0)
        return saved

    @cached_property
    def repairs(self) -> RepairCosts:
        """Those of the plant; a repair that did not help is not tried again."""
        of = self.scene.plant.repairs
        success = of.success.copy()
        success[list(self.tried)] = 0.0
        return replace(of, success=success) if self.tried else of

    @cached_property
    def to_repair(self) -> float:
        """Expected cost of repair from here, without any test."""
        return float(self.repairs.expected(self.posterior))

    @cached_property
    def certainty(self) -> float:
        """Probability of the leader, the residual causes being one."""
        unlisted = np.array([state.startswith(UNLISTED) for state in self.scene.population.states])
        return max(float(self.posterior[~unlisted].max()), float(self.posterior[unlisted].sum()))

    def seen(self, act: str, outcome: int, true: bool = True) -> View:
        """The view once the act showed its ``outcome`` (numbered as in its table); true: steps were done for it."""
        findings = self.open_acts[act]
        weight = self.weight * self.scene.table(findings)[:, outcome]
        weight = weight / weight.sum() if weight.any() else self.weight
        closed, held = self.closed | set(findings), self.held
        if true:
            closed, held = self._after_steps(act, closed)
        scene, weight = _without_the_unlikely(self.scene, weight)
        return View(scene, weight, closed, held, self._awake_after(), self.age + 1, self.tried)

    def _awake_after(self) -> frozenset[str] | None:
        """Every few steps all acts are looked at again."""
        if self.age % REST == REST - 1:
            return None
        some = self.gains >= DROWSY * self.scene.plant.settings.least_gain
        return frozenset(act for act, tells in zip(self.joints[0], some, strict=True) if tells)

    def _after_steps(self, act: str, closed: frozenset[str]) -> tuple[frozenset[str], frozenset[str]]:
        """Findings closed and steps held once the way to an act was gone."""
        access = self.scene.plant.knowledge.access
        way = self.scene.plant.way(act, self.held)
        state = dict.fromkeys(self.held, True)
        for step in way.undone:
            state = after(access, state, step, False)
        for step in way.steps:
            state = after(access, state, step, True)
        lost = {f for step in way.steps for f in (*access[step].destroys, *access[step].hides)}
        return closed | lost, frozenset(step for step, on in state.items() if on)

    def failed(self, cause: int) -> View:
        """The view once the repair of ``cause`` did not help."""
        own = self.scene.cause == cause
        weight = np.where(own, self.weight * (1 - self.scene.plant.repairs.success[cause]), self.weight)
        weight = weight / weight.sum() if weight.any() else self.weight
        return replace(self, weight=weight, awake=None, age=0, tried=self.tried | {cause})


def view_of(plant: Plant, vehicle: Vehicle, population: Population) -> View:
    """The view of a vehicle when it comes in."""
    told = [population.chances[f][:, state] for f, state in vehicle.intake.items()]
    weight = population.weight * np.prod(told, axis=0) if told else population.weight
    scene = Scene(plant, vehicle, population, np.arange(len(weight)))
    return View(*_without_the_unlikely(scene, weight / weight.sum()), frozenset(vehicle.intake))


def _without_the_unlikely(scene: Scene, weight: Array) -> tuple[Scene, Array]:
    """Machines that together are negligible are let go, where these are many."""
    order = np.argsort(weight, kind="stable")
    gone = order[np.cumsum(weight[order]) < NEGLIGIBLE]
    if len(gone) < FEW * len(weight):
        return scene, weight
    kept = np.ones(len(weight), dtype=bool)
    kept[gone] = False
    return scene.only(kept), weight[kept] / weight[kept].sum()


def _gains(joint: Array, starts: npt.NDArray[np.intp], target: Array) -> Array:
    """Bits about the target of each act; joint: shape (target states, outcomes of all acts side by side)."""
    if not len(starts):
        return np.zeros(0)
    inside = np.add.reduceat(_spread(joint).sum(0), starts)
    outcome = np.add.reduceat(_spread(joint.sum(0)), starts)
    return np.asarray(np.maximum(_spread(target).sum() + outcome - inside, 0.0))


def _spread(p: Array) -> Array:
    """-p log2 p, 0 where p is 0."""
    return -p * np.log2(np.where(p > 0, p, 1.0))


def outcome_number(findings: Sequence[str], states: Mapping[str, int], sizes: Mapping[str, int]) -> int:
    """The number of a joint outcome, the last finding running fastest."""
    number = 0
    for finding in findings:
        number = number * sizes[finding] + states[finding]
    return number
