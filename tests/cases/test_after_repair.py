"""Stories of our own after a repair. All data is invented."""

from dataclasses import replace

import pytest
from oracle.sessions import chance, main_reason, session

from diag.case import ConfirmedEntry, RepairEntry
from diag.network.now import ALL_ALONG, BROUGHT_IN, LEFT_IN, NEVER_REPAIRED
from diag.session import Session

GASKET = ("head_gasket",)
GASSING = ("bubbles_in_tank=yes", "combustion_gas_test=colour_changes", "hoses_hard_soon=yes", "overheats_at_load=yes")
AGAIN = ("overheats_at_load=yes", "overheats_standing=no", "gauge_shows=hot", "bubbles_in_tank=no")
DEAD_FAN = ("overheats_standing=yes", "fan_silent_hot=yes", "fan_runs_direct=dead", "overheats_at_load=no")


def test_gasket_renewed_and_the_cause_left_in_rises_when_it_is_hot_again() -> None:
    before, after = session(*GASSING), session(*GASSING, GASKET, *AGAIN)
    cause = "radiator_blocked_inside"
    assert chance(after, cause) >= 3 * chance(before, cause)
    assert main_reason(after, cause) == NEVER_REPAIRED
    assert after.ready.open_causes[0].id == cause
    assert after.ready.verdict == "not_yet"
    assert any(cause in reason for reason in after.ready.why)
    test = after.ready.open_causes[0].test
    assert test is not None
    findings = after.knowledge.tests[test.id].reveals
    passed = session(*GASSING, GASKET, *AGAIN, *(f"{f}={after.knowledge.findings[f].states[0]}" for f in findings))
    assert chance(passed, cause) < 0.1
    assert not any(cause in reason for reason in passed.ready.why)


def test_one_good_test_on_the_open_cause_turns_the_verdict() -> None:
    before = session(*GASSING, "bottom_hose_cold=yes", GASKET)
    assert before.ready.verdict == "not_yet"
    cause = before.ready.open_causes[0]
    assert cause.id == "thermostat_stuck_closed" and cause.probability >= 0.1 and cause.test is not None
    findings = [before.knowledge.findings[f] for f in before.knowledge.tests[cause.test.id].reveals]
    after = before.supposing([], [f"{finding.id}={finding.states[0]}" for finding in findings])
    assert chance(after, cause.id) < 0.1
    assert after.ready.verdict == "yes_watching"
    assert before.ready.verdict == "not_yet", "a what-if leaves the case as it is"


def test_right_repair_and_an_air_lock_after_it() -> None:
    told = ("overheats_at_load=yes", "overheats_standing=yes", "thermostat_pan_test=stays_shut", "bottom_hose_cold=yes")
    after = session(*told, ("thermostat",), "heater_fades_at_idle=yes", "gurgles_after_stop=yes")
    assert after.diagnosis.leader == "air_lock"
    assert main_reason(after, "air_lock") == BROUGHT_IN
    assert chance(after, "thermostat_stuck_closed") < 0.1 < chance(session(*told), "thermostat_stuck_closed")


def test_a_wrong_part_fitted() -> None:
    told = ("leak_visible=yes", "radiator_wet=yes", "coolant_level_drops=yes")
    after = session(*told, ("radiator",), "overheats_at_load=yes", "radiator_part_differs=yes", "leak_visible=no")
    assert after.diagnosis.leader == "radiator_wrong_part"
    assert main_reason(after, "radiator_wrong_part") == BROUGHT_IN


def test_the_repair_was_good_and_a_second_fault_remained() -> None:
    seen = ("fan_silent_hot=no", "heater_cold=poor", "heater_hoses_differ=yes", "heater_rinse_weak=yes")
    after = session(*DEAD_FAN, ("fan_motor_dead",), *seen)
    assert after.diagnosis.leader == "heater_core_blocked"
    assert main_reason(after, "heater_core_blocked") in (ALL_ALONG, NEVER_REPAIRED)
    assert chance(after, "fan_motor_dead") < 0.1


def test_fan_repaired_while_the_gasket_is_breached_already() -> None:
    told = (*DEAD_FAN, "boils_over=yes", "driven_on_hot=yes")
    seen = ("fan_silent_hot=no", "bubbles_in_tank=yes", "combustion_gas_test=colour_changes")
    after = session(*told, ("fan_motor_dead",), *seen)
    assert after.diagnosis.leader == "gasket_to_jacket"
    assert main_reason(after, "gasket_to_jacket") == LEFT_IN
    assert chance(after, "nothing_wrong") < 0.05
    assert after.causes.causes[0].name == after.knowledge.effects["gasket_to_jacket"].name


@pytest.mark.parametrize("how, factor", [("fine", 0.5), ("usual", 1.0)])
def test_how_well_it_went_moves_how_often_it_failed(how: str, factor: float) -> None:
    """The failure of a repair that went fine is the usual one times its model number."""
    told = (*DEAD_FAN,)
    usual = chance(session(*told, ("fan_motor_dead",), how="usual"), "fan_motor_dead")
    assert chance(session(*told, ("fan_motor_dead",), how=how), "fan_motor_dead") == pytest.approx(
        usual * factor, rel=0.1
    )
    assert chance(session(*told, ("fan_motor_dead",), how="with_trouble"), "fan_motor_dead") > 2 * usual


def test_a_repair_before_the_case_that_changed_nothing_speaks_against_what_it_renewed() -> None:
    plain = session("overheats_at_load=yes", "gauge_shows=hot")
    earlier = RepairEntry(repair=("thermostat",), before_case=True, changed="same").stamped(9, "", "")
    vain = Session.of(replace(plain.case, entries=(*plain.case.entries, earlier)), plain.knowledge)
    assert vain.observations.stage == 1
    assert 0 < chance(vain, "thermostat_stuck_closed") < chance(plain, "thermostat_stuck_closed") / 5


def test_what_was_disturbed_besides_may_have_brought_something_in() -> None:
    plain = session(*DEAD_FAN, ("fan_motor_dead",))
    case = plain.case
    told = tuple(replace(e, disturbed=("drained",)) if isinstance(e, RepairEntry) else e for e in case.entries)
    drained = Session.of(replace(case, entries=told), plain.knowledge)
    expected = plain.knowledge.access["drained"].brings_in["air_lock"].value
    assert drained.observations.mended[0].brings_in["air_lock"] == expected
    assert chance(drained, "air_lock") > 3 * chance(plain, "air_lock")


def test_parts_that_turned_out_good_have_none_of_their_faults() -> None:
    plain = session("overheats_at_load=yes", "gauge_shows=hot")
    closed = ConfirmedEntry(confirmed="not_found", good=("main_pump", "radiator_leak")).stamped(9, "", "")
    told = Session.of(replace(plain.case, entries=(*plain.case.entries, closed)), plain.knowledge)
    for fault in (*plain.knowledge.parts["main_pump"].faults, "radiator_leak"):
        if fault in told.diagnosis.states:
            assert chance(told, fault) == 0.0
    assert chance(told, "thermostat_stuck_closed") > chance(plain, "thermostat_stuck_closed")
