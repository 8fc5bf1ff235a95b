"""``diag next`` with its options: another target, the last look, the plan; repairs and ending."""

import pytest


def test_actions_are_repairs_and_the_ending_best_first(run, hot):
    actions = run("next", hot, "--json").json["actions"]
    assert {"id", "kind", "name", "probability", "cost", "expected_cost"} <= set(actions[0])
    assert [a["expected_cost"] for a in actions] == sorted(a["expected_cost"] for a in actions)
    assert "end" in {a["id"] for a in actions}
    pump = next(a for a in actions if a["id"] == "pump_worn")
    assert pump["cautions"]


def test_about_other_things_ranks_by_them(run, hot):
    plain = run("next", hot, "--json").json
    about = run("next", hot, "--about", "head_warped", "--json").json
    gains = {p["id"]: p["gain_bits"] for p in (*about["questions"], *about["tests"])}
    assert gains and gains != {p["id"]: p["gain_bits"] for p in (*plain["questions"], *plain["tests"])}
    several = run("next", hot, "--about", "head_warped", "--about", "pump_worn", "--about", "puddle")
    assert "Ranked by what is told about head warped, pump worn, puddle below" in " ".join(several.out.split())


@pytest.mark.parametrize("option", [("--about", "head_warpd"), ("--before", "draind")])
def test_an_unknown_id_names_the_nearest(run, hot, option):
    ran = run("next", hot, *option, "--json")
    assert ran.code == 1
    assert {"head_warpd": "head_warped", "draind": "drained"}[option[1]] in ran.json["problems"][0]["hint"]


def test_the_last_look_before_draining(run, hot):
    look = run("next", hot, "--before", "drained", "--json").json["before"]
    assert look["lost"] == ["pump_noisy"]
    assert [chance["id"] for chance in look["first"]] == ["listen_to_pump"]
    out = run("next", hot, "--before", "drained").out
    assert "See this first; it cannot be seen afterwards" in out and "listen_to_pump" in out
    run("record", hot, "drained=yes")
    assert "takes nothing away" in run("next", hot, "--before", "drained").out


def test_the_plan_in_words_and_for_programs(run, hot):
    plan = run("next", hot, "--plan", "--depth", "2", "--json").json["plan"]
    assert {"root", "sure", "minutes", "money", "depth"} <= set(plan)
    assert plan["minutes"][0] <= plan["minutes"][1] and 0 <= plan["sure"] <= 1
    out = run("next", hot, "--plan").out
    assert "Plan, 2 steps ahead" in out and "What it comes to" in out


def test_everything_unsure_is_still_ranked(run, hot):
    run("record", hot, "pump_noisy=unsure:yes", "puddle=unsure:yes", "level_low=unsure:yes", "head_bent=unsure:yes")
    answer = run("next", hot, "--json")
    assert answer.code == 0 and answer.json["questions"] and answer.json["stop"]["unexplained"] == ["pump_noisy"]
    assert "Not explained yet by anything known: pump noisy" in " ".join(run("next", hot).out.split())
    assert run("next", hot, "--plan").code == 0


def test_tools_are_known_ones_or_the_nearest_is_named(run, hot):
    ran = run("settings", hot, "tools=stethoscop", "--json")
    assert ran.code == 1 and "stethoscope" in ran.json["problems"][0]["hint"]
    assert run("settings", hot, "tools=none", "--json").json["settings"]["tools"] == []
    without = {t["id"]: t["cost"] for t in run("next", hot, "--json").json["tests"]}
    run("settings", hot, "tools=stethoscope")
    with_it = {t["id"]: t["cost"] for t in run("next", hot, "--json").json["tests"]}
    assert without["listen_to_pump"] - with_it["listen_to_pump"] == pytest.approx(25.0)  # price of a missing tool
