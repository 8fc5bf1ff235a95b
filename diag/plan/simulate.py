"""Policies at work on simulated vehicles.

A vehicle is drawn from a population of the network with the answers it will give. It comes in with what its owner
tells. The policy chooses acts until the leader is sure enough or no act is worth it (the same rule for all), then the
leader is repaired (the right repair always helps); where that does not help it goes on, until it is cured, or ended
where that is cheaper. Its cost is
that of all acts and of every repair that did not help, and of the ending; the repair that cures is paid by everybody
alike and left out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import Knowledge
from diag.network.case_network import compile_case
from diag.network.observations import Observations
from diag.network.population import Population, draw_population
from diag.plan.policies import POLICIES, Policy
from diag.plan.repair_cost import repair_costs
from diag.plan.settings import Settings
from diag.plan.workshop import Plant, Vehicle, View, outcome_number, view_of

Array = npt.NDArray[np.float64]
EACH = 100  # machines drawn of every initiating cause
MOST_ACTS = 60
NOTHING_TOLD = Observations((), (), {}, frozenset(), None, {})


@dataclass(frozen=True, slots=True)
class Worked:
    """What came of one vehicle under one policy."""

    cost: float
    tests_done: int
    wrong_repairs: int
    ended: bool


@dataclass(frozen=True, eq=False)
class World:
    """The population that is believed in, the one that vehicles are drawn from, and what does not change."""

    plant: Plant
    believed: Population
    true: Population


def world_of(knowledge: Knowledge, settings: Settings, seed: int, truth: Knowledge | None = None) -> World:
    """truth: the knowledge that vehicles are drawn from, where it is another."""
    case = compile_case(knowledge, NOTHING_TOLD)
    believed = draw_population(case, EACH, np.random.default_rng((seed, 0)))
    other = compile_case(truth, NOTHING_TOLD) if truth else None
    true = draw_population(other, EACH, np.random.default_rng((seed, 0))) if other else believed
    acts: dict[str, tuple[str, ...]] = {f.id: (f.id,) for f in knowledge.findings.values() if f.ask}
    acts |= {test.id: test.reveals for test in knowledge.tests.values()}
    watched = {e for step in knowledge.access.values() for e in step.harm}
    watched |= {e for test in knowledge.tests.values() for e in test.harm}
    watched |= {e for lock in knowledge.locks.values() for e in lock.likely}
    repairs = repair_costs(knowledge, case.states, settings, {})
    repairs = replace(repairs, success=np.where(np.isfinite(repairs.cost), 1.0, 0.0))
    plant = Plant(knowledge, settings, repairs, acts, (), tuple(sorted(watched)))
    nobody = Vehicle(0, {}, {}, {}, 0)
    start = view_of(plant, nobody, believed)
    order = tuple(start.joints[0][i] for i in np.argsort(-start.gains / start.costs, kind="stable"))
    return World(Plant(knowledge, settings, repairs, acts, order, plant.watched), believed, true)


def draw_vehicle(world: World, seed: int, number: int) -> Vehicle:
    """Vehicle ``number``: one that comes in with a complaint."""
    knowledge, true = world.plant.knowledge, world.true
    complaints = [f.id for f in knowledge.findings.values() if f.complaint]
    random = np.random.default_rng((seed, 1, number))
    while True:
        machine = int(random.choice(len(true.weight), p=true.weight))
        findings = {f: int(random.choice(table.shape[1], p=table[machine])) for f, table in true.chances.items()}
        intake = {f: findings[f] for f in complaints}
        if any(intake.values()):
            effects = {e: int(drawn[machine]) for e, drawn in true.effects.items()}
            return Vehicle(int(true.cause[machine]), findings, effects, intake, number)


def work(view: View, policy: Policy, seed: int) -> Worked:
    """One vehicle from its intake to its end under one policy."""
    plant, vehicle = view.scene.plant, view.scene.vehicle
    sizes = {f: table.shape[1] for f, table in view.scene.population.chances.items()}
    true = {e: np.array([1.0 - (s > 0), float(s > 0)]) for e, s in vehicle.effects.items()}
    random = np.random.default_rng((seed, 2, vehicle.number))
    cost, acts, wrong = 0.0, 0, 0
    while True:
        chosen = next_act(view, policy, random) if acts < MOST_ACTS else None
        if chosen is not None:
            act = view.joints[0][chosen]
            cost += view.cost(act, true)
            acts += 1
            view = view.seen(act, outcome_number(view.open_acts[act], vehicle.findings, sizes))
            continue
        repair = leader_to_repair(view)
        if repair is None:
            return Worked(cost + plant.repairs.ending, acts, wrong, True)
        if repair == vehicle.cause:
            return Worked(cost, acts, wrong, False)
        cost += float(plant.repairs.cost[repair])
        wrong += 1
        view = view.failed(repair)


def next_act(view: View, policy: Policy, random: np.random.Generator) -> int | None:
    """The act that the policy chooses, or None where the rule of all says stop."""
    settings = view.scene.plant.settings
    if view.certainty >= settings.certainty:
        return None
    choice = np.flatnonzero(view.gains >= settings.least_gain)
    if not len(choice) or not (view.saves > view.costs)[choice].any():
        return None
    return policy(view, choice, random)


def leader_to_repair(view: View) -> int | None:
    """The likeliest cause that has a repair, or None where ending it is cheaper than going on."""
    repairs = view.repairs
    usable = np.where(np.isfinite(repairs.cost) & (repairs.success > 0), view.posterior, -1.0)
    best = int(usable.argmax())
    if usable[best] <= 1e-6 or view.to_repair >= repairs.ending * (1 - 1e-9):
        return None
    return best


def simulate_some(world: World, seed: int, numbers: Sequence[int]) -> list[Mapping[str, Worked]]:
    """What came of each vehicle, by policy."""
    found: list[Mapping[str, Worked]] = []
    for number in numbers:
        start = view_of(world.plant, draw_vehicle(world, seed, number), world.believed)
        found.append({name: work(start, policy, seed) for name, policy in POLICIES.items()})
    return found
