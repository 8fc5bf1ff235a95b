"""``diag theory`` and ``diag why``: what they record, what they answer, what they refuse."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from cli.test_cli_screen import HOSTILE, SHOWN

THEORY = ("hose_split", "coolant_low", "not:pump_worn")
SCREENS = [
    ("why", "hot.yaml", "pump_worn"),
    ("why", "hot.yaml", "unlisted", "--numbers"),
    ("theory", "hot.yaml", *THEORY),
    ("theory", "hot.yaml", "--numbers"),
]


def entries(run) -> list:
    return run("status", "hot.yaml", "--json").json["entries"]


def test_theory_is_judged_and_kept_with_its_author(run, hot):
    run("record", hot, "puddle=yes")
    ran = run("theory", hot, *THEORY, "--by", "the driver", "--json")
    assert (ran.code, ran.err) == (0, "")
    told = ran.json
    assert told["theory"] == {
        "id": "hose_split",
        "cause": "hose_split",
        "followed": ["coolant_low"],
        "absent": ["pump_worn"],
        "by": "the driver",
    }
    assert 0 < told["prior"] < told["probability"] < 1
    assert told["bayes_factor"] == told["rivals"][0]["bayes_factor"]
    assert {w["finding"] for w in told["evidence"]} == {"gauge", "puddle"}
    assert all({"id", "gain_bits", "cost", "cautions", "outcomes"} <= set(t) for t in told["deciding_tests"])
    kept = entries(run)[-1]
    assert (kept["kind"], kept["theory"], kept["by"]) == ("theory", "hose_split", "the driver")
    assert (kept["followed"], kept["absent"]) == (["coolant_low"], ["pump_worn"])


def test_the_same_theory_is_kept_once_for_each_person(run, hot):
    for by in ("a", "a", "b"):
        assert run("theory", hot, *THEORY, "--by", by).code == 0
    assert [entry["by"] for entry in entries(run) if entry["kind"] == "theory"] == ["a", "b"]


def test_recorded_theories_are_judged_anew_side_by_side(run, hot):
    run("theory", hot, "hose_split", "--by", "a")
    run("theory", hot, "pump_worn", "flow_weak", "--by", "b")
    first = run("theory", hot, "--json").json["theories"]
    run("record", hot, "puddle=yes")
    then = run("theory", hot, "--json").json["theories"]
    assert [t["theory"]["cause"] for t in then] == ["hose_split", "pump_worn"]
    assert then[0]["probability"] > first[0]["probability"]
    assert then[1]["probability"] < first[1]["probability"]
    run("undo", hot, "--entry", "3")
    assert [t["theory"]["by"] for t in run("theory", hot, "--json").json["theories"]] == ["b"]


def test_whole_explanations_stand_beside_the_theory(run, hot):
    run("record", hot, "puddle=yes", "level_low=yes")
    told = run("theory", hot, "hose_split", "heat", "--json").json
    assert [step["effect"] for step in told["chain"]["steps"]] == ["coolant_low", "heat"]
    assert told["explanations"][0]["cause"] == "hose_split"
    assert len({chain["cause"] for chain in told["explanations"]}) == 3
    assert all(rival["chain"]["cause"] == rival["id"] for rival in told["rivals"])
    out = " ".join(run("theory", hot).out.split())
    assert "1. hose split, so coolant low, so how hot it was: " in out


def test_twins_are_said_to_be_twins_and_the_weakest_link_comes_from_the_chain(run, hot):
    out = " ".join(run("theory", hot, "belt_slips").out.split())
    assert "No open test can tell the two causes apart." in out
    told = run("theory", hot, "--json").json
    assert told["weakest_link"]["effect"] in {step["effect"] for step in told["chain"]["steps"]}
    assert "nothing recorded shows that there ever was: flow weak" in out


def test_without_a_theory_the_whole_case_is_told(run, hot):
    ran = run("theory", hot)
    assert (ran.code, "No theory is recorded" in ran.out) == (0, True)
    assert "The whole case, as it most likely went" in ran.out


def test_only_asking_leaves_the_file_as_it_is(run, hot):
    before = Path(hot).read_bytes()
    assert run("theory", hot, *THEORY, "--only-ask").code == 0
    assert run("theory", hot).code == 0
    assert Path(hot).read_bytes() == before


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("hose_splitt",), "unknown-id", "hose_split"),
        (("puddle",), "wrong-kind", "a cause or an effect is expected"),
        (("coolant_low",), "one-cause", "names no cause"),
        (("hose_split", "pump_worn"), "one-cause", "has one cause"),
        (("hose_split", "not:hose_split"), "theory-against-itself", "hose_split"),
        (("hose_split", HOSTILE), "unknown-id", "a cause or an effect is expected"),
    ],
)
def test_what_is_no_theory_is_refused_and_not_written(run, hot, words, code, says):
    before = Path(hot).read_bytes()
    ran = run("theory", hot, *words, "--json")
    assert ran.code == 1
    (problem,) = ran.json["problems"]
    assert problem["code"] == code
    assert says in problem["message"] + problem["hint"]
    plain = run("theory", hot, *words)
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e]", plain.out + plain.err)
    assert Path(hot).read_bytes() == before


def test_former_ids_are_known(run, hot):
    assert run("theory", hot, "pump_bad", "--json").json["theory"]["cause"] == "pump_worn"
    assert run("why", hot, "pump_bad", "--json").json["id"] == "pump_worn"


def test_cause_that_fittings_rule_out_has_no_chance(run, tiny_base, tmp_path):
    copy = tmp_path / "base"
    shutil.copytree(tiny_base, copy)
    chapter = copy / "chapters" / "pump.yaml"
    told = chapter.read_text(encoding="utf-8").replace(
        "    family: hoses\n", "    family: hoses\n    fitted: [turbo]\n"
    )
    chapter.write_text(told, encoding="utf-8")
    run("new", "hot.yaml", "--complaint", "gauge=high", "--not-fitted", "turbo", base=copy)
    assert run("theory", "hot.yaml", "hose_split", "heat", "--json", base=copy).json["probability"] == 0
    assert "less than 1 in 100" in run("theory", "hot.yaml", base=copy).out
    (problem,) = run("why", "hot.yaml", "hose_split", "--json", base=copy).json["problems"]
    assert problem["code"] == "cannot-be"


def test_why_tells_for_and_against_and_what_would_turn(run, hot):
    run("record", hot, "puddle=yes", "pump_noisy=yes")
    told = run("why", hot, "hose_split", "--json").json
    assert [w["finding"] for w in told["for"]][:1] == ["puddle"]
    assert [w["finding"] for w in told["against"]] == ["pump_noisy"]
    assert told["would_turn"]["leader"] != told["leader"] == told["id"] == "hose_split"
    other = run("why", hot, "pump_worn", "--json").json
    assert other["would_turn"]["leader"] == "pump_worn"
    out = " ".join(run("why", hot, "hose_split").out.split())
    assert "For it: puddle below the engine: yes (strongly)" in out
    assert "It leads the list." in out
    assert len(out.split()) < 120  # to be read aloud


@pytest.mark.parametrize(
    "words", [("why", "hot.yaml", "hose_splitt"), ("why", "hot.yaml", "heat"), ("why", "hot.yaml", HOSTILE)]
)
@pytest.mark.usefixtures("hot")
def test_why_of_what_is_no_cause_is_refused(run, words):
    ran = run(*words)
    assert (ran.code, ran.out) == (1, "")
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e]", ran.err)


@pytest.mark.usefixtures("hot")
@pytest.mark.parametrize("command", SCREENS)
def test_screens_fit_80_columns_in_plain_ascii(run, command):
    run("record", "hot.yaml", "running=yes", "pump_noisy=yes")
    run("theory", "hot.yaml", "pump_worn", "heat", "--by", HOSTILE)
    ran = run(*command)
    assert ran.code == 0
    assert ran.out.isascii()
    assert max(len(line) for line in ran.out.splitlines()) <= 80
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e]", ran.out)


@pytest.mark.usefixtures("hot")
def test_hostile_author_is_shown_as_text(run):
    run("theory", "hot.yaml", "pump_worn", "--by", HOSTILE)
    assert SHOWN in " ".join(run("theory", "hot.yaml").out.split())
    assert run("theory", "hot.yaml", "--json").json["theory"]["by"] == HOSTILE


@pytest.mark.usefixtures("hot")
def test_numbers_only_where_asked_for(run):
    assert "decibans" not in run("theory", "hot.yaml", *THEORY).out + run("why", "hot.yaml", "pump_worn").out
    assert "decibans" in run("theory", "hot.yaml", "--numbers").out
    assert "decibans" in run("why", "hot.yaml", "pump_worn", "--numbers").out


@pytest.mark.usefixtures("hot")
def test_shaken_judgement_tells_who_leads_and_which_numbers_matter(run):
    told = run("causes", "hot.yaml", "--shaken", "20", "--json").json["judgement"]
    assert told["draws"] == 20
    assert sum(lead["share"] for lead in told["leads"]) == pytest.approx(1.0)
    assert told["probability"]["low"] < told["probability"]["middle"] < told["probability"]["high"]
    swings = [abs(number["decibans_at_high"] - number["decibans_at_low"]) for number in told["numbers"]]
    assert (len(swings), swings) == (3, sorted(swings, reverse=True))
    assert all({"id", "what", "value", "low", "high", "grade", "file", "line"} <= set(n) for n in told["numbers"])
    for number in told["numbers"]:
        line = Path(number["file"]).read_text(encoding="utf-8").splitlines()[number["line"] - 1]
        assert f"{number['value']:g} (" in line


@pytest.mark.usefixtures("hot")
@pytest.mark.parametrize("command", [("causes", "hot.yaml"), ("theory", "hot.yaml", "hose_split", "--only-ask")])
def test_shaken_judgement_is_told_in_words(run, command):
    out = run(*command, "--shaken", "20").out
    assert max(len(line) for line in out.splitlines()) <= 80
    assert "All estimates were moved within their ranges, 20 times." in out
    assert "These numbers move it most" in out
    assert "judgement" not in out.replace("hangs on judgement", "")
    assert "decibans" not in out
    assert "decibans" in run(*command, "--shaken", "20", "--numbers").out
    assert run(*command, "--shaken", "1").code == 2
