"""What must not be done as things stand: the locks of the shipped base, and harm as a price."""

import pytest
from oracle.knowledge import number as amount

from diag.case import Case, as_entries
from diag.plan.locks import expected_harm, locks_in_force
from diag.session import Session, load_knowledge

KNOWLEDGE = load_knowledge()
RUNNING = {"running", "warm", "hot", "driven"}


def session(told: str) -> Session:
    entries, problems = as_entries(Case(file="", vehicle="", entries=()), KNOWLEDGE, told.split())
    assert not problems
    entries = tuple(entry.stamped(number, "", "") for number, entry in enumerate(entries, start=1))
    return Session.of(Case(file="", vehicle="", entries=entries), KNOWLEDGE)


@pytest.mark.parametrize(
    ("told", "lock"),
    [
        ("oil_milky=yes", "oil_carries_coolant"),
        ("glycol_in_oil=yes", "oil_carries_coolant"),
        ("engine_locked=yes", "cylinder_holds_liquid"),
        ("coolant_level_seen=empty", "level_lost"),
        ("oil_pressure_low=yes", "oil_pressure_gone"),
        ("valve_timing_checked=off", "valves_may_touch"),
    ],
)
def test_nothing_that_needs_a_running_engine_is_proposed(told: str, lock: str):
    ranking = session(told).ranking
    assert KNOWLEDGE.locks[lock].way_out in {locked.way_out for locked in ranking.locked}
    for test in ranking.tests:
        assert not RUNNING & {*KNOWLEDGE.tests[test.id].access, *test.way.steps}, test.id
        assert test.id not in KNOWLEDGE.locks[lock].tests


def test_the_cap_stays_on_while_it_is_hot_until_it_is_cold():
    told = "overheats_standing=yes coolant_level_drops=yes hot=yes"
    hot = session(told).ranking
    assert "system_pressure_test" in {locked.id for locked in hot.locked}
    assert all("cap_off" not in test.way.steps for test in hot.tests)
    assert "system_pressure_test" in {test.id for test in session(told + " cold=yes").ranking.tests}


def test_the_way_out_leads_out():
    lost = session("coolant_gone_at_once=yes").ranking
    filled = session("coolant_gone_at_once=yes coolant_level_seen=full").ranking
    assert lost.locked and not filled.locked


def test_a_likely_effect_locks_without_being_told():
    """Milky oil only suspected: the lock holds by the probability of coolant in the oil, above its limit of 0.5."""
    open_case = session("oil_milky=unsure:yes:0.95 oil_level_rises=yes")
    effects = open_case.diagnosis.effects()
    assert effects["coolant_in_oil"][1] > KNOWLEDGE.locks["oil_carries_coolant"].likely["coolant_in_oil"].value
    locks = locks_in_force(KNOWLEDGE, open_case.observations, effects)
    assert "oil_carries_coolant" in {lock.id for lock in locks}


def test_harm_is_probability_times_price_and_in_the_cost():
    prices = [{"coolant_in_oil": amount(100.0)}, {"coolant_in_oil": amount(60.0), "liquid_lock": amount(10.0)}]
    effects = {"coolant_in_oil": [0.8, 0.2], "liquid_lock": [0.9, 0.1]}
    assert expected_harm(prices, effects) == pytest.approx(0.2 * 100 + 0.1 * 10)  # by hand, the dearest price counts
    open_case = session("overheats_standing=yes oil_level_rises=unsure:yes")
    effects = open_case.diagnosis.effects()
    run = next(test for test in open_case.ranking.tests if test.way.steps == ("running",))
    harms = KNOWLEDGE.access["running"].harm
    assert run.harm == pytest.approx(sum((1 - effects[e][0]) * price.value for e, price in harms.items()))
    free = open_case.settings.hour * run.minutes / 60 + open_case.settings.waiting_hour * run.waiting / 60 + run.money
    assert run.cost == pytest.approx(free + run.harm)
