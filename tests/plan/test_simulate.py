"""Simulated vehicles: beliefs and costs are those of network and access graph; same seed, same answer."""

import json
from pathlib import Path

import numpy as np
import pytest

from diag.network.information import expected_information_gain
from diag.plan import Settings
from diag.plan.act import act
from diag.plan.policies import OURS, POLICIES
from diag.plan.simulate import draw_vehicle, next_act, work, world_of
from diag.plan.simulation import Task, simulate, work_batch
from diag.plan.workshop import view_of
from diag.session import load_knowledge
from diag.show.simulation import simulation_data

TINY = Path(__file__).parents[1] / "cli" / "tiny_base"
SEED = 3


@pytest.fixture(scope="module")
def knowledge():
    return load_knowledge(TINY)


@pytest.fixture(scope="module")
def world(knowledge):
    return world_of(knowledge, Settings(), SEED)


@pytest.fixture(scope="module")
def view(world):
    return view_of(world.plant, draw_vehicle(world, SEED, 0), world.believed)


def test_gains_are_those_of_the_joint_tables(view):
    acts, joint, starts = view.joints
    ends = [*starts[1:], joint.shape[1]]
    for act_, gain, a, b in zip(acts, view.gains, starts, ends, strict=True):
        assert gain == pytest.approx(expected_information_gain(joint[:, a:b]), abs=1e-9), act_
    assert joint.sum() == pytest.approx(len(acts))


def test_acts_cost_what_they_cost_in_a_case(view, knowledge):
    """The same access graph and prices as for a real case that stands there, a step of attention added."""
    from diag.network.case_network import compile_case
    from diag.network.observations import Observations

    case = compile_case(knowledge, Observations((), (), {}, frozenset(), None, {}))
    for name, cost in zip(view.joints[0], view.costs, strict=True):
        wanted = act(case, name, Settings(), view.effects).cost + Settings().step
        assert cost == pytest.approx(wanted)


def test_what_is_done_is_closed_and_its_steps_hold(view):
    listen = view.joints[0].index("listen_to_pump")
    then = view.seen("listen_to_pump", 0)
    assert listen >= 0 and "listen_to_pump" not in then.open_acts and "running" in then.held
    assert then.posterior.sum() == pytest.approx(1.0)


def test_every_policy_meets_the_same_vehicle_and_the_same_stop(world):
    vehicle = draw_vehicle(world, SEED, 7)
    again = draw_vehicle(world, SEED, 7)
    assert (vehicle.cause, vehicle.findings, vehicle.intake) == (again.cause, again.findings, again.intake)
    start = view_of(world.plant, vehicle, world.believed)
    random = np.random.default_rng(0)
    stops = {next_act(start, policy, random) is None for policy in POLICIES.values()}
    assert len(stops) == 1
    for policy in POLICIES.values():
        worked = work(start, policy, SEED)
        assert worked.cost >= 0 and worked.tests_done >= 0


def test_a_sure_vehicle_is_repaired_without_a_test(world):
    sure = Settings(certainty=0.5)
    easy = world_of(world.plant.knowledge, sure, SEED)
    for number in range(30):
        start = view_of(easy.plant, draw_vehicle(easy, SEED, number), easy.believed)
        if start.certainty >= 0.5:
            assert next_act(start, POLICIES[OURS], np.random.default_rng(0)) is None
            return
    pytest.fail("no vehicle came in with a leader above one half")


def test_one_job_and_four_give_the_same_bytes(knowledge):
    task = Task(knowledge, Settings(), SEED)
    one, four = (json.dumps(simulation_data(simulate(task, 23, jobs=jobs))) for jobs in (1, 4))
    assert one == four


def test_a_cluster_gives_the_same(knowledge):
    distributed = pytest.importorskip("distributed")
    task = Task(knowledge, Settings(), SEED)
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None, protocol="tcp"
    ) as cluster:
        there = simulate(task, 12, dask=cluster.scheduler_address)
    assert simulation_data(there) == simulation_data(simulate(task, 12))


def test_paired_difference_and_interval_by_hand(knowledge):
    task = Task(knowledge, Settings(), SEED)
    worked = work_batch(task, range(8))
    score = simulate(task, 8).policies["random"]
    apart = [one["random"].cost - one[OURS].cost for one in worked]
    mean = sum(apart) / 8
    error = (sum((x - mean) ** 2 for x in apart) / 7 / 8) ** 0.5
    assert score.difference == pytest.approx(mean)
    assert score.interval == pytest.approx((mean - 1.96 * error, mean + 1.96 * error), abs=1e-3 * (1 + error))


def test_vehicles_from_shaken_networks_differ_and_are_counted(knowledge):
    from diag.learn.shaken import shaken

    truths = tuple(shaken(knowledge, np.random.default_rng(place)) for place in range(3))
    told = simulate(Task(knowledge, Settings(), SEED, truths), 9)
    assert told.truths == 3 and set(told.signs) == set(POLICIES)
    assert all(0 <= sign <= 3 for sign in told.signs.values())
