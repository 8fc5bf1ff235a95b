"""Commands that write: new, record, undo, confirm, settings."""

from __future__ import annotations

from pathlib import Path

import pytest


def test_new_opens_a_case_with_what_was_told(run):
    ran = run("new", "a.yaml", "--fitted", "turbo", "--complaint", "puddle", "--vehicle", "red van")
    assert ran.code == 0
    status = run("status", "a.yaml", "--json").json
    assert status["vehicle"] == "red van"
    assert status["fitted"] == {"turbo": True}
    assert (status["complaint"]["finding"], status["complaint"]["state"]) == ("puddle", "yes")


def test_fittings_not_told_stay_unknown(run):
    run("new", "a.yaml", "--not-fitted", "turbo,boat")
    assert run("status", "a.yaml", "--json").json["fitted"] == {"turbo": False, "boat": False}
    run("new", "b.yaml")
    assert run("status", "b.yaml", "--json").json["fitted"] == {}


def test_vehicle_outside_the_scope_is_refused_with_the_reason_and_no_file_made(run, folder):
    ran = run("new", "a.yaml", "--fitted", "boat")
    assert ran.code == 1
    assert "The circuit of a boat is not described here." in " ".join(ran.err.split())
    assert list(folder.iterdir()) == []


def test_refused_vehicle_cannot_be_recorded_later_either(run, hot):
    before = Path(hot).read_bytes()
    ran = run("record", hot, "boat=yes", "--json")
    assert ran.code == 1
    assert ran.json["problems"][0]["code"] == "outside-scope"
    assert Path(hot).read_bytes() == before
    assert run("record", hot, "boat=no").code == 0


@pytest.mark.parametrize(
    "arguments",
    [("--fitted", "turbi"), ("--not-fitted", "turbi"), ("--complaint", "pudle"), ("--complaint", "gauge=hihg")],
)
def test_new_with_an_unknown_id_names_the_nearest_and_makes_no_file(run, folder, arguments):
    ran = run("new", "a.yaml", *arguments, "--json")
    assert ran.code == 1
    assert "Did you mean" in ran.json["problems"][0]["hint"]
    assert list(folder.iterdir()) == []


def test_complaint_with_several_states_must_say_which(run):
    ran = run("new", "a.yaml", "--complaint", "gauge")
    assert ran.code == 1
    assert "gauge=low, gauge=high" in " ".join(ran.err.split())


def test_ordinary_state_is_no_complaint(run, folder):
    assert run("new", "a.yaml", "--complaint", "puddle=no").code == 1
    assert list(folder.iterdir()) == []


def test_new_never_touches_a_file_that_is_there(run):
    Path("a.yaml").write_text("my shopping list", encoding="utf-8")
    assert run("new", "a.yaml").code == 1
    assert Path("a.yaml").read_text(encoding="utf-8") == "my shopping list"


def test_fitted_and_not_fitted_at_once_is_wrong_use(run):
    assert run("new", "a.yaml", "--fitted", "turbo", "--not-fitted", "turbo").code == 2


def test_record_with_all_options(run, hot):
    options = ("--by", "Kim", "--note", "twice", "--with", "stethoscope", "--when", "running,not_cold")
    ran = run("record", hot, "pump_noisy=unsure:yes:0.7", *options, "--json")
    assert ran.code == 0
    (entry,) = ran.json["recorded"]
    told = {key: entry[key] for key in ("finding", "state", "by", "note", "with_instrument", "when")}
    assert told == {
        "finding": "pump_noisy",
        "state": "unsure:yes:0.7",
        "by": "Kim",
        "note": "twice",
        "with_instrument": "stethoscope",
        "when": ["running", "not_cold"],
    }


def test_record_takes_words_gone_readings_history_fittings_and_access(run, hot):
    told = ["gauge=in the red", "level_low=gone", "puddle=0.3 bar", "pump_old=yes", "turbo=yes", "cold=yes"]
    ran = run("record", hot, *told, "--json")
    assert ran.code == 0
    assert [entry["kind"] for entry in ran.json["recorded"]] == ["finding"] * 4 + ["fitting", "access"]
    (note,) = ran.json["problems"]
    assert (note["severity"], note["code"]) == ("note", "reading-without-state")
    assert "--instead 5" in note["hint"]  # the reading is the fifth entry of the file


def test_correction_puts_the_corrected_entry_out_of_force(run, hot):
    run("record", hot, "puddle=yes")
    assert run("record", hot, "puddle=no", "--instead", "3").code == 0
    entries = run("status", hot, "--json").json["entries"]
    assert [(entry["number"], entry["in_force"]) for entry in entries] == [(1, True), (2, True), (3, False), (4, True)]


@pytest.mark.parametrize(
    ("told", "code"),
    [
        ("pudle=yes", "unknown-id"),
        ("puddle=yess", "unknown-state"),
        ("check_level_and_puddle=yes", "wrong-kind"),
        ("turbo=maybe", "unknown-state"),
        ("puddle", "no-assignment"),
    ],
)
def test_record_refuses_what_it_does_not_know_and_leaves_the_file(run, hot, told, code):
    before = Path(hot).read_bytes()
    ran = run("record", hot, "level_low=no", told, "--json")
    assert ran.code == 1
    assert [problem["code"] for problem in ran.json["problems"]] == [code]
    assert ran.json["problems"][0]["hint"]
    assert Path(hot).read_bytes() == before


def test_record_refuses_an_unknown_circumstance(run, hot):
    ran = run("record", hot, "pump_noisy=yes", "--when", "runing", "--json")
    assert ran.code == 1
    assert "running" in ran.json["problems"][0]["hint"]


def test_record_without_anything_to_record_is_wrong_use(run, hot):
    assert run("record", hot).code == 2
    assert run("record").code == 2


def test_undo_takes_the_last_entry_back_by_a_new_one(run, hot):
    run("record", hot, "puddle=yes", "level_low=yes")
    old = Path(hot).read_bytes()
    assert run("undo", hot).code == 0
    assert Path(hot).read_bytes().startswith(old)
    entries = run("status", hot, "--json").json["entries"]
    assert [entry["in_force"] for entry in entries] == [True, True, True, False, True]
    assert (entries[-1]["kind"], entries[-1]["undo"]) == ("undo", 4)


def test_undo_of_a_named_entry(run, hot):
    run("record", hot, "puddle=yes", "level_low=yes")
    run("undo", hot, "--entry", "3")
    assert run("status", hot, "--json").json["entries"][2]["in_force"] is False


def test_undo_with_nothing_to_take_back(run):
    run("new", "a.yaml")
    ran = run("undo", "a.yaml", "--json")
    assert ran.code == 1
    assert ran.json["problems"][0]["code"] == "nothing-to-undo"


def test_confirm_a_cause_and_how_it_was_seen(run, hot):
    assert run("confirm", hot, "hose_split", "--seen", "split at the clamp").code == 0
    status = run("status", hot, "--json").json
    assert status["confirmed"] == "hose_split"
    assert status["entries"][-1]["seen"] == "split at the clamp"


def test_confirm_not_found(run, hot):
    assert run("confirm", hot, "not_found").code == 0
    assert run("status", hot, "--json").json["confirmed"] == "not_found"


def test_confirm_an_unknown_cause_names_the_nearest(run, hot):
    ran = run("confirm", hot, "hose_spilt", "--json")
    assert ran.code == 1
    assert "hose_split" in ran.json["problems"][0]["hint"]


def test_confirm_without_a_cause_is_wrong_use(run, hot):
    assert run("confirm", hot).code == 2


def test_settings_of_the_case_reach_the_plan(run, hot):
    dear = run("settings", hot, "hour=50", "--json")
    assert dear.json["settings"]["hour"] == 50.0
    tests = {test["id"]: test for test in run("next", hot, "--json").json["tests"]}
    # 4 minutes at 50 an hour, from the sheet of the test: no money, no waiting, no way to it
    assert tests["check_level_and_puddle"]["cost"] == pytest.approx(50 * 4 / 60)


@pytest.mark.parametrize("told", ["hourr=3", "hour=much", "hour=nan", "certainty=1.5"])
def test_settings_refuse_what_makes_no_sense(run, hot, told):
    before = Path(hot).read_bytes()
    ran = run("settings", hot, told, "--json")
    assert ran.code == 1
    assert ran.json["problems"][0]["code"] == "wrong-setting"
    assert Path(hot).read_bytes() == before


def test_settings_without_a_value_is_wrong_use(run, hot):
    assert run("settings", hot, "hour=").code == 2
