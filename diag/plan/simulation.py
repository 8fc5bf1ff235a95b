"""Many simulated vehicles, on one core, on several, or on a cluster; the same answer whatever does the work.

Vehicles are worked on in batches of a fixed size, each vehicle from a seed of its own, so that it does not matter who
takes which batch. Where vehicles are drawn from other networks than the one believed in, vehicle n is drawn from truth
n modulo their number.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
import numpy.typing as npt

from diag.knowledge.types import Knowledge
from diag.plan.policies import OURS, POLICIES
from diag.plan.settings import Settings
from diag.plan.simulate import Worked, World, simulate_some, world_of

Array = npt.NDArray[np.float64]
BATCH = 5
NORMAL_95 = 1.959963984540054  # two-sided 95 % point of the normal distribution


@dataclass(frozen=True, eq=False)
class Task:
    """What every batch needs. truths: the networks that vehicles are drawn from; empty: the one believed in."""

    knowledge: Knowledge
    settings: Settings
    seed: int
    truths: tuple[Knowledge, ...] = ()


@dataclass(frozen=True)
class Score:
    """What one policy came to. difference: mean cost less that of ours, vehicle by vehicle; interval: 95 %."""

    mean_cost: float
    median_cost: float
    difference: float
    interval: tuple[float, float]
    wrong_repairs: float
    tests_done: float
    ended: float


@dataclass(frozen=True)
class Simulation:
    """Scores by policy; signs: by policy the truths in which ours is cheaper, of those with a vehicle."""

    vehicles: int
    seed: int
    truths: int
    policies: Mapping[str, Score]
    signs: Mapping[str, int]


_worlds: dict[tuple[str, Settings, int, int], World] = {}


def work_batch(task: Task, numbers: Sequence[int]) -> list[Mapping[str, Worked]]:
    """What came of some vehicles, by policy. Worlds are kept from batch to batch of a process."""
    found: list[Mapping[str, Worked]] = []
    for number in numbers:
        place = number % len(task.truths) if task.truths else -1
        key = (task.knowledge.version, task.settings, task.seed, place)
        if key not in _worlds:
            truth = task.truths[place] if task.truths else None
            _worlds[key] = world_of(task.knowledge, task.settings, task.seed, truth)
        found += simulate_some(_worlds[key], task.seed, [number])
    return found


def simulate(
    task: Task,
    vehicles: int,
    jobs: int = 1,
    dask: str = "",
    done: Callable[[int], object] = int,
) -> Simulation:
    """Let every policy work on the same vehicles.

    jobs: processes, -1 all cores; dask: address of a running cluster that takes the work instead. done: called with
    the number of vehicles of every batch that is through.
    """
    batches = [range(first, min(first + BATCH, vehicles)) for first in range(0, vehicles, BATCH)]
    worked: list[Mapping[str, Worked]] = []
    for result in _through(task, batches, jobs, dask):
        worked += result
        done(len(result))
    return _summed(task, worked)


def _through(
    task: Task, batches: Sequence[Sequence[int]], jobs: int, dask: str
) -> Iterable[list[Mapping[str, Worked]]]:
    """The batches worked on, in their order."""
    if dask:
        return _on_cluster(task, batches, dask)
    if jobs == 1 or len(batches) < 2:
        return (work_batch(task, numbers) for numbers in batches)
    from joblib import Parallel, delayed

    found: Iterable[list[Mapping[str, Worked]]] = Parallel(n_jobs=jobs, return_as="generator")(
        delayed(work_batch)(task, numbers) for numbers in batches
    )
    return found


def _on_cluster(task: Task, batches: Sequence[Sequence[int]], address: str) -> Iterator[list[Mapping[str, Worked]]]:
    """Raises ImportError where the cluster's library is not installed, OSError where no cluster answers."""
    from distributed import Client

    connect: Callable[..., Any] = Client
    with connect(address, timeout="10s", set_as_default=False) as client:
        futures = client.map(partial(work_batch, task), batches, pure=False)
        for future in futures:
            yield future.result()


def _summed(task: Task, worked: Sequence[Mapping[str, Worked]]) -> Simulation:
    costs = {name: np.array([one[name].cost for one in worked]) for name in POLICIES}
    policies = {name: _score(costs[name], costs[OURS], [one[name] for one in worked]) for name in POLICIES}
    count = max(len(task.truths), 1)
    groups = [slice(place, None, count) for place in range(min(count, len(worked)))]
    signs = {
        name: sum(bool((cost[group] - costs[OURS][group]).mean() > 0) for group in groups)
        for name, cost in costs.items()
    }
    return Simulation(len(worked), task.seed, len(groups), policies, signs)


def _score(cost: Array, ours: Array, worked: Sequence[Worked]) -> Score:
    apart = cost - ours
    mean = float(apart.mean())
    error = float(apart.std(ddof=1)) / len(apart) ** 0.5 if len(apart) > 1 else 0.0
    return Score(
        mean_cost=float(cost.mean()),
        median_cost=float(np.median(cost)),
        difference=mean,
        interval=(mean - NORMAL_95 * error, mean + NORMAL_95 * error),
        wrong_repairs=sum(one.wrong_repairs for one in worked) / len(worked),
        tests_done=sum(one.tests_done for one in worked) / len(worked),
        ended=sum(one.ended for one in worked) / len(worked),
    )
