"""The way to a test is the cheapest there is: against a search over all states of random access graphs."""

import random

import pytest
from oracle.vehicles import at_odds, chain_of, cheapest_way, random_access, step, with_steps

from diag.knowledge.steps import after
from diag.plan.access import way_to
from diag.session import load_knowledge

GRAPHS = 300


def random_state(rng: random.Random, knowledge) -> dict[str, bool]:
    """What holds after some steps recorded at random."""
    state: dict[str, bool] = {}
    for name in knowledge.access:
        if rng.random() < 0.5 and not at_odds(knowledge.access, name, name):
            state = after(knowledge.access, state, name, True)
    return state


def test_no_way_is_cheaper_and_none_is_claimed_where_none_is():
    rng = random.Random(5)
    barred = undone = 0
    for _ in range(GRAPHS):
        knowledge = random_access(rng)
        state = random_state(rng, knowledge)
        wanted = rng.sample(list(knowledge.access), rng.randint(1, 2))
        way = way_to(knowledge, wanted, state)
        searched = cheapest_way(knowledge, wanted, frozenset(s for s, on in state.items() if on))
        barred += bool(way.barred_by)
        undone += bool(way.undone)
        if way.barred_by:
            assert searched is None
        else:
            assert way.minutes + way.waiting == pytest.approx(searched)
    assert barred > 10 and undone > 10  # both happen


def test_recorded_states_never_exclude_each_other():
    rng = random.Random(6)
    for _ in range(GRAPHS):
        knowledge = random_access(rng)
        held = [s for s, on in random_state(rng, knowledge).items() if on]
        assert not any(at_odds(knowledge.access, a, b) for a in held for b in held)
        assert all(chain_of(knowledge.access, a) <= set(held) for a in held)


def test_shared_steps_are_paid_once_and_put_back():
    """By hand: pump out (75, back 75) needs drained (15, 25) and belt off (15, 15); drained needs the cap off."""
    knowledge = load_knowledge()
    way = way_to(knowledge, ["pump_out", "belt_off"], {"cold": True, "cap_off": True})
    assert set(way.steps) == {"drained", "belt_off", "pump_out"} and way.steps[-1] == "pump_out"
    assert (way.minutes, way.undo_minutes, way.waiting) == (75 + 15 + 15, 75 + 25 + 15, 0)
    assert way_to(knowledge, ["pump_out"], {"pump_out": True}).minutes == 0


def test_what_lasts_is_undone_first_and_what_passes_ends_by_itself():
    knowledge = load_knowledge()
    to_run = way_to(knowledge, ["running"], {"thermostat_out": True})
    # The thermostat goes back in (25) and the system is filled (25); the cap may stay off. Then it is started (1).
    assert to_run.undone == ("thermostat_out", "drained") and to_run.minutes == 25 + 25 + 1
    cool_down = way_to(knowledge, ["cap_off"], {"hot": True, "running": True})
    assert cool_down.undone == () and cool_down.waiting == 90  # the engine cools first, 90 minutes


def test_a_state_that_gives_another_is_not_waited_for_twice():
    knowledge = load_knowledge()
    assert way_to(knowledge, ["cold", "overnight_cold"], {}).waiting == 480
    assert way_to(knowledge, ["cold"], {"overnight_cold": True}).waiting == 0
    assert way_to(knowledge, ["warm"], {"hot": True}).steps == ()


def test_a_state_that_cannot_be_reached_bars():
    knowledge = with_steps(step("up", 1, 1), step("down", 1, 1, conflicts=["up"]))
    assert way_to(knowledge, ["up", "down"], {}).barred_by == (("down", "up"),)
