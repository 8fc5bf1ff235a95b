"""Commands that answer: status, causes, next, find, show, validate - their JSON and their exit codes."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

READING = [("status", "hot.yaml"), ("causes", "hot.yaml"), ("next", "hot.yaml"), ("find", "puddle"), ("show", "puddle")]


@pytest.mark.usefixtures("hot")
@pytest.mark.parametrize("command", [*READING, ("validate",), ("settings", "hot.yaml")])
def test_json_is_one_object_with_its_schema_and_nothing_else(run, command):
    ran = run(*command, "--json")
    assert ran.code == 0
    assert ran.json["schema"] == 1
    assert ran.out.isascii()
    assert ran.err == ""


def test_status_tells_the_case_at_a_glance(run, hot):
    run("record", hot, "running=yes", "level_low=gone", "pump_old=no")
    status = run("status", hot, "--json").json
    assert status["stage"] == 1
    assert status["access"] == {"running": True}
    assert status["gone"] == ["level_low"]
    # of gauge, puddle, level_low and pump_old only the puddle is left to be asked for
    assert status["open_questions"] == 1
    assert [entry["number"] for entry in status["entries"]] == [1, 2, 3, 4, 5]


def test_causes_add_up_and_are_sorted(run, hot):
    answer = run("causes", hot, "--json").json
    probabilities = [cause["probability"] for cause in answer["causes"]]
    assert sum(probabilities) == pytest.approx(1.0, abs=1e-12)
    assert probabilities == sorted(probabilities, reverse=True)
    assert {"unlisted", "nothing_wrong", "pump_worn"} <= {cause["id"] for cause in answer["causes"]}
    assert all(cause["name"] for cause in answer["causes"])
    assert (answer["method"], answer["neglected"]) == ("exact", 0.0)
    assert answer["log2_evidence"] < 0
    assert 0 <= answer["idle_share"] <= 1
    assert {present["id"] for present in answer["also_present"]} == {
        "pump_worn",
        "belt_slips",
        "belt_glazed",
        "hose_split",
    }
    assert [damage["id"] for damage in answer["damage"]] == ["head_warped"]
    assert set(answer["damage"][0]) == {"id", "name", "probability"}


def test_unlisted_is_parted_by_mechanism(run, hot):
    answer = run("causes", hot, "--json").json
    (unlisted,) = [cause for cause in answer["causes"] if cause["id"] == "unlisted"]
    assert set(unlisted["by_mechanism"]) == {"flow_weak", "coolant_low"}
    assert sum(unlisted["by_mechanism"].values()) == pytest.approx(unlisted["probability"])


def test_twins_stand_in_one_group(run, hot):
    groups = run("causes", hot, "--json").json["groups"]
    assert any({"belt_slips", "belt_glazed"} <= set(group) for group in groups)
    assert "cannot be told apart by any open test" in run("causes", hot).out


def test_finding_without_any_cause_behind_it_is_said(run):
    run("new", "a.yaml", "--complaint", "gauge=low")  # nothing in the tiny base makes a gauge read low
    answer = run("causes", "a.yaml", "--json").json
    assert list(answer["unexplained"]) == ["gauge"]
    assert "Nothing likely explains: temperature gauge (gauge)" in " ".join(run("causes", "a.yaml").out.split())


def test_next_has_both_lists_with_outcomes_that_record_takes(run, hot):
    answer = run("next", hot, "--json").json
    for proposals in (answer["questions"], answer["tests"]):
        assert [p["score"] for p in proposals] == sorted((p["score"] for p in proposals), reverse=True)
    fields = {"id", "name", "gain_bits", "cost", "score", "minutes", "money", "outcomes"}
    assert all(fields <= set(p) for p in (*answer["questions"], *answer["tests"]))
    best = answer["tests"][0]
    assert sum(outcome["probability"] for outcome in best["outcomes"]) == pytest.approx(1.0)
    for place, outcome in enumerate(best["outcomes"]):
        shutil.copyfile(hot, f"copy{place}.yaml")
        told = [f"{finding}={state}" for finding, state in outcome["findings"].items()]
        assert run("record", f"copy{place}.yaml", *told).code == 0
        after = run("causes", f"copy{place}.yaml", "--json").json
        assert after["causes"][0]["id"] == outcome["leader"]
        assert after["causes"][0]["probability"] == pytest.approx(outcome["leader_probability"])


def test_next_tells_tools_cautions_and_the_way_to_a_test(run, hot):
    tests = {test["id"]: test for test in run("next", hot, "--json").json["tests"]}
    listen = tests["listen_to_pump"]
    assert listen["tools"] == ["stethoscope"]
    assert listen["access_steps"] == ["running"]
    assert listen["cautions"] == [{"hazard": "belt", "caution": "Keep sleeves and hair away from the belt."}]


def test_a_locked_test_stands_apart_with_a_way_out(run, hot):
    run("record", hot, "head_bent=yes")
    answer = run("next", hot, "--json").json
    assert answer["locked"] == [
        {
            "id": "listen_to_pump",
            "name": "listen to the pump",
            "why": "A bent head lets coolant into the cylinders.",
            "way_out": "Plane the head first.",
        }
    ]
    assert "listen_to_pump" not in {test["id"] for test in answer["tests"]}
    assert "Locked as things stand" in run("next", hot).out
    assert answer["stop"]["advised"] is False


def test_what_a_step_took_away_unseen_is_gone(run, hot):
    run("record", hot, "drained=yes")
    assert run("status", hot, "--json").json["gone"] == ["pump_noisy"]
    proposed = {test["id"]: test for test in run("next", hot, "--json").json["tests"]}
    assert "listen_to_pump" not in proposed


def test_stop_is_advised_where_it_is_sure_enough(run, hot):
    run("settings", hot, "certainty=0.5")
    run("record", hot, "puddle=yes", "level_low=yes")
    answer = run("next", hot, "--json").json
    assert answer["stop"]["advised"] is True
    assert answer["stop"]["why"]
    assert "Enough is known to stop here: hose split" in " ".join(run("next", hot).out.split())


@pytest.mark.parametrize("command", ["causes", "next"])
def test_impossible_evidence_names_an_irreducible_set(run, strict_base, command):
    run("new", "a.yaml", "--complaint", "gauge=high", base=strict_base)
    # in the strict base a puddle means a split hose, and a split hose means a low level; the noise is beside it
    run("record", "a.yaml", "pump_noisy=no", "puddle=yes", "level_low=no", base=strict_base)
    ran = run(command, "a.yaml", "--json", base=strict_base)
    assert ran.code == 1
    (problem,) = ran.json["problems"]
    assert problem["code"] == "impossible-evidence"
    assert [(c["entry"], c["finding"]) for c in ran.json["contradiction"]] == [(4, "puddle"), (5, "level_low")]
    told = " ".join(run(command, "a.yaml", base=strict_base).err.split())
    assert "entry 4 (puddle=yes), entry 5 (level_low=no)" in told
    assert "Dropping any one of them makes it possible" in told


def test_find_by_other_names_and_near_misses(run):
    hits = run("find", "watr", "pump", "--json").json["hits"]
    assert {"id", "kind", "name"} <= set(hits[0])
    assert (hits[0]["id"], hits[0]["kind"]) == ("pump_worn", "cause")
    assert run("find", "drips", "--json").json["hits"][0]["id"] == "puddle"
    assert len(run("find", "pump", "--json").json["hits"]) <= 10


def test_find_nothing(run):
    ran = run("find", "zzzzzz")
    assert ran.code == 0
    assert "Nothing like it" in ran.out
    assert run("find", "zzzzzz", "--json").json["hits"] == []


IDS = (
    *("pump_worn", "flow_weak", "heat", "head_warped", "gauge", "pump_noisy", "listen_to_pump", "pump_old", "turbo"),
    *("boat", "drained", "bent_head", "scald", "handbook", "coexistence"),
)


@pytest.mark.parametrize("id", IDS)
def test_show_tells_every_kind_of_entry(run, id):
    ran = run("show", id)
    assert ran.code == 0
    assert f"{id})" in ran.out.splitlines()[0]
    assert run("show", id, "--json").json["id"] == id


def test_show_a_cause_with_numbers_grades_ranges_and_sources(run):
    out = " ".join(run("show", "pump_worn").out.split())
    assert "6 (4 to 9), an estimate" in out
    assert "pump noisy (pump_noisy): 0.6, seen in a published source: handbook" in out
    assert "handbook: A handbook of pumps; page 3" in out
    assert "Keep sleeves and hair away from the belt." in out
    assert "May bring in hose_split" in out


def test_show_a_finding_with_what_leads_to_it(run):
    shown = run("show", "puddle", "--json").json
    assert shown["led_to_by"] == ["hose_split"]
    assert shown["revealed_by"] == ["check_level_and_puddle"]


def test_show_knows_former_ids(run):
    assert run("show", "pump_bad", "--json").json["id"] == "pump_worn"


def test_show_an_unknown_id_names_the_nearest(run):
    ran = run("show", "pump_wron", "--json")
    assert ran.code == 1
    assert "pump_worn" in ran.json["problems"][0]["hint"]


def test_validate_a_base_counts_it(run, tiny_base):
    answer = run("validate", str(tiny_base), "--json").json
    assert answer["problems"] == []
    assert (answer["counts"]["causes"], answer["counts"]["tests"]) == (4, 3)
    assert {"findings", "answers", "causes", "tests"} == set(answer["cliques"][0])
    assert "0 findings recorded: " in run("validate", str(tiny_base)).out


def test_validate_tells_place_and_code_of_an_error(run, strict_base):
    chapter = strict_base / "chapters" / "pump.yaml"
    text = chapter.read_text(encoding="utf-8").replace("family: belt", "famly: belt", 1)
    chapter.write_text(text, encoding="utf-8", newline="\n")
    ran = run("validate", str(strict_base), "--json")
    assert ran.code == 1
    line = 1 + text[: text.index("famly")].count("\n")
    found = [p for p in ran.json["problems"] if p["code"] == "unknown-field"]
    assert [(Path(p["file"]).name, p["line"]) for p in found] == [("pump.yaml", line)]
    assert {"severity", "column", "message", "hint"} <= set(found[0])
    assert ran.json["cliques"] == []  # the base is not all there


def test_validate_an_overlay_on_the_built_in_base(run, folder):
    overlay = folder / "mine" / "chapters"
    overlay.mkdir(parents=True)
    (overlay / "own.yaml").write_text("title: Own\nfindings:\n  my_finding:\n    nam: x\n", encoding="utf-8")
    ran = run("validate", "mine", "--json")
    assert ran.code == 1
    assert {Path(problem["file"]).name for problem in ran.json["problems"]} == {"own.yaml"}


def test_validate_a_case(run, hot):
    ran = run("validate", hot, "--json")
    assert ran.code == 0
    assert ran.json["counts"]["entries"] == 2
    text = Path(hot).read_text(encoding="utf-8")
    Path(hot).write_text(text.replace("finding: gauge", "finding: gauche"), encoding="utf-8", newline="\n")
    ran = run("validate", hot, "--json")
    assert ran.code == 1
    assert ran.json["problems"][0]["code"] == "unknown-id"


def test_validate_explains_a_code(run):
    assert run("validate", "--explain", "missing-grade", "--json").json["right"]
    ran = run("validate", "--explain", "mising-grade", "--json")
    assert ran.code == 1
    assert "missing-grade" in ran.json["problems"][0]["hint"]


def test_status_shows_a_case_that_the_knowledge_does_not_know_and_exits_with_1(run, hot):
    text = Path(hot).read_text(encoding="utf-8")
    Path(hot).write_text(text.replace("finding: gauge", "finding: gauche"), encoding="utf-8", newline="\n")
    ran = run("status", hot, "--json")
    assert ran.code == 1
    assert len(ran.json["entries"]) == 2
    assert ran.json["problems"][0]["code"] == "unknown-id"


def test_show_tells_what_overlays_did_and_two_go_over_each_other(run, folder, tiny_base):
    for name, text in {
        "one": "title: Our yard\nchanges: {pump_worn: {weight: 9 (6..13) judgement}}\n",
        "two": "removes: [pump_noisy]\n",
    }.items():
        (folder / name).mkdir()
        (folder / name / "overlay.yaml").write_text(text, encoding="utf-8")
    both = ("--knowledge", str(tiny_base), "--knowledge", "one", "--knowledge", "two")
    ran = run("show", "pump_worn", "--json", *both)
    assert ran.json["weight"]["value"] == 9
    (done,) = ran.json["provenance"]
    assert (done["overlay"], done["field"], done["after"], done["line"]) == (
        "Our yard",
        "weight",
        "9 (6..13) judgement",
        2,
    )
    assert "Changed by the overlay 'Our yard': weight is 9" in " ".join(run("show", "pump_worn", *both).out.split())
    gone = run("show", "pump_noisy", "--json", *both)
    assert gone.code == 1
    assert gone.json["problems"][0]["hint"] == "The overlay 'two' takes it out in two/overlay.yaml:1:11."


def test_two_overlays_that_change_the_same_are_told_with_both_places(run, folder, tiny_base):
    for name in ("one", "two"):
        (folder / name).mkdir()
        text = "changes: {pump_worn: {weight: 9 (6..13) judgement}}\n"
        (folder / name / "overlay.yaml").write_text(text, encoding="utf-8")
    ran = run("validate", "two", "--knowledge", str(tiny_base), "--knowledge", "one", "--json")
    assert ran.code == 1
    (problem,) = ran.json["problems"]
    assert (problem["code"], problem["file"], problem["column"]) == ("overlay-conflict", "two/overlay.yaml", 23)
    assert "one/overlay.yaml:1:23" in problem["message"]
