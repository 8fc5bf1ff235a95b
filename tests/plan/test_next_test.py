"""Ten situations with the test that a good mechanic would do next (common practice, no source).

Several acts are listed where the trade would do either. Symptoms standing still point to air, symptoms under load to
flow and heat rejection: common in the trade.
"""

from diag.case import Case, as_entries
from diag.session import Session, load_knowledge

# What was recorded, and what a good mechanic does next.
SITUATIONS = {
    "hot in traffic, fine on the road, electric fan": (
        "electric_fan=yes overheats_standing=yes overheats_at_load=no coolant_level_seen=full",
        {"watch_fan_cut_in", "command_fan", "look_at_fan", "feed_fan_directly"},
    ),
    "level drops, nothing wet seen, temperature normal": (
        "coolant_level_drops=yes leak_visible=no overheats_standing=no",
        {"system_pressure_test", "cap_test", "search_low_under_pressure"},
    ),
    "hoses hard within minutes of a cold start, level drops": (
        "hoses_hard_soon=yes coolant_level_drops=yes leak_visible=no",
        {"combustion_gas_check", "gas_analyser_at_neck", "look_into_the_tank", "watch_the_neck_from_cold"},
    ),
    "never gets warm, weak heater": (
        "warms_up_slowly=yes heater_cold=yes coolant_level_seen=full gauge_shows=cold",
        {"log_warm_up", "feel_top_hose_from_cold", "boil_thermostat"},
    ),
    "hot within minutes, bottom hose cold, level full": (
        "overheats_standing=yes overheats_at_load=yes bottom_hose_cold=yes coolant_level_seen=full",
        {"log_warm_up", "feel_top_hose_from_cold", "boil_thermostat", "look_at_pump_and_belt"},
    ),
    "hot only under load, tight, gauge true": (
        "overheats_at_load=yes overheats_standing=no coolant_level_seen=full leak_visible=no reading_disagrees=agrees",
        {"map_radiator", "look_through_core", "hold_the_revs", "watch_flow_at_neck"},
    ),
    "gauge at the stop at key-on": (
        "gauge_full_at_key_on=yes boils_over=no coolant_level_drops=no",
        {"unplug_sensor", "compare_temperature", "read_live_temperature", "cold_soak_check"},
    ),
    "heater fades and the needle wanders since the system was refilled": (
        "coolant_refilled_lately=yes heater_fades_at_idle=yes temperature_swings=yes",
        {"bleed_system", "vacuum_fill", "look_into_the_tank"},
    ),
    "oil film in the header tank, clean dipstick": (
        "oil_film_in_tank=yes oil_milky=no overheats_at_load=no",
        {"pressure_test_oil_cooler", "check_gearbox_oil", "leak_down_test"},
    ),
    "spins fast and evenly, will not fire, never ran hot": (
        "will_not_start=yes cranks_unevenly=fast_even gauge_shows=normal",
        {"check_valve_timing", "compression_test_dry", "check_spark_and_fuel"},
    ),
}
FIRST = 3
AT_LEAST = 8


def first_tests(told: str, knowledge) -> list[str]:
    """The first hands-on tests proposed."""
    entries, problems = as_entries(Case(file="", vehicle="", entries=()), knowledge, told.split())
    assert not problems, problems
    session = Session.of(Case(file="", vehicle="", entries=entries), knowledge)
    return [test.id for test in session.ranking.tests[:FIRST]]


def test_what_a_mechanic_would_do_is_among_the_first_three():
    knowledge = load_knowledge()
    proposed = {name: first_tests(told, knowledge) for name, (told, _) in SITUATIONS.items()}
    for _, wanted in SITUATIONS.values():
        assert wanted <= set(knowledge.tests)
    missed = {name: tests for name, tests in proposed.items() if not set(tests) & SITUATIONS[name][1]}
    assert len(SITUATIONS) - len(missed) >= AT_LEAST, missed
