"""What a step recorded brings about, ends, and takes away unseen. The shipped base, common practice, no source."""

from diag.case import Case, as_entries, observe
from diag.session import load_knowledge

KNOWLEDGE = load_knowledge()


def told(*assignments: str):
    entries, problems = as_entries(Case(file="", vehicle="", entries=()), KNOWLEDGE, assignments)
    assert not problems
    return observe(entries, KNOWLEDGE)[0]


def holding(*assignments: str) -> set[str]:
    return {step for step, on in told(*assignments).access.items() if on}


def test_what_a_step_needs_holds_with_it_and_what_excludes_it_has_ended():
    assert holding("hot=yes", "drained=yes") == {"cold", "cap_off", "drained"}
    assert holding("drained=yes", "running=yes") == {"cold", "cap_off", "running"}
    assert "thermostat_out" not in holding("thermostat_out=yes", "drained=no")
    assert holding("overnight_cold=yes") == {"overnight_cold", "cold"}


def test_states_at_odds_the_last_word_counts():
    assert holding("cold=yes", "hot=yes") == {"hot", "warm"}
    assert holding("hot=yes", "cold=yes") == {"cold"}


def test_draining_takes_the_level_away_unless_it_was_seen():
    assert "coolant_level_seen" in told("drained=yes").gone
    assert "coolant_level_seen" not in told("coolant_level_seen=full", "drained=yes").gone
    assert "coolant_level_seen" not in told("drained=yes", "coolant_level_seen=full").gone


def test_what_is_only_hidden_can_be_seen_again_once_that_is_undone():
    assert "pressure_test_result" in told("drained=yes").gone
    assert "pressure_test_result" not in told("drained=yes", "drained=no").gone
    assert "coolant_level_seen" in told("drained=yes", "drained=no").gone


def test_the_head_off_takes_compression_leak_down_and_gas_tests_with_all_that_it_needs():
    lost = told("head_off=yes").gone
    assert {"compression_dry", "leakdown_air", "combustion_gas_test", "coolant_level_seen"} <= lost
    assert "gasket_trace" not in lost


def test_cleared_codes_come_back_once_it_is_driven():
    assert "code_fan" in told("battery_off=yes").gone
    assert "code_fan" not in told("battery_off=yes", "battery_off=no", "driven=yes").gone


def test_washing_and_renewing_take_traces_and_samples():
    assert {"hose_wet", "leak_visible"} <= told("outside_washed=yes").gone
    assert {"coolant_looks", "oil_film_in_tank"} <= told("coolant_renewed=yes").gone
    assert {"glycol_in_oil"} <= told("oil_renewed=yes").gone
