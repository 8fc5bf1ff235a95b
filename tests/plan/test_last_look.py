"""Before a step: what is about to vanish is seen first where it tells, and not where it tells nothing."""

import pytest
from oracle.workshop import diagnosis, tiny

from diag.case import Case, as_entries
from diag.plan import Settings, rank
from diag.plan.last_look import last_look
from diag.session import Session, load_knowledge

KNOWLEDGE = load_knowledge()


def test_a_test_of_08_bit_and_10_minutes_is_done_before_the_step_that_takes_it():
    look = last_look(diagnosis(tiny()), Settings(), "open")
    (chance,) = look.first
    assert (chance.id, chance.minutes, look.lost) == ("T", 10.0, ("f",))
    assert chance.gain_bits == pytest.approx(0.8, abs=0.001)  # 1 - H(0.0311), by hand


def test_with_its_gain_nought_it_is_not():
    look = last_look(diagnosis(tiny(sharp=False)), Settings(), "open")
    assert look.first == () and [chance.id for chance in look.not_worth] == ["T"]
    assert look.not_worth[0].gain_bits == pytest.approx(0.0, abs=1e-9)


def test_a_step_that_takes_nothing_asks_for_nothing():
    assert last_look(diagnosis(tiny()), Settings(), "other").first == ()
    assert last_look(diagnosis(tiny(), {"open": True}), Settings(), "open").lost == ()


def test_too_dear_a_look_is_not_worth_it():
    dear = Settings(hour=10_000.0)  # ten minutes cost 1,667, more than any repair saves
    assert last_look(diagnosis(tiny()), dear, "open").first == ()


def test_before_the_head_comes_off_the_shipped_base():
    told = "coolant_level_drops=yes hoses_hard_soon=yes"
    entries, problems = as_entries(Case(file="", vehicle="", entries=()), KNOWLEDGE, told.split())
    assert not problems
    entries = tuple(entry.stamped(number, "", "") for number, entry in enumerate(entries, start=1))
    session = Session.of(Case(file="", vehicle="", entries=entries), KNOWLEDGE)
    look = session.last_look("head_off")
    assert {"compression_dry", "leakdown_air", "coolant_level_seen"} <= set(look.lost)
    assert "system_pressure_test" in {chance.id for chance in look.first}
    shown = [set(chance.findings) for chance in look.first]
    assert all(not one & set(KNOWLEDGE.access["head_off"].hides) for one in shown)
    assert look.keep and look.dearer
    order = [chance.id for chance in look.first]
    if "hose_collapsed_cold" in order:  # taking the cap off takes it away, so it comes before what needs the cap off
        assert order.index("hose_collapsed_cold") < order.index("system_pressure_test")
    by_cause = session.last_look("gasket_failed_to_jacket")  # its repair takes the head off too
    assert set(look.lost) <= set(by_cause.lost)


@pytest.mark.parametrize("tools", [frozenset(), None])
def test_a_vehicle_with_no_tools_pays_for_them(tools):
    ranking = rank(diagnosis(tiny(tools=("lamp",))), Settings(tools=tools))
    missing = 0.0 if tools is None else Settings().missing_tool
    assert ranking.tests[0].cost == pytest.approx(10 * 25 / 60 + missing)
