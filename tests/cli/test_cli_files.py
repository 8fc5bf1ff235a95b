"""Which file a command takes, files that are missing or broken, wrong use."""

from __future__ import annotations

from pathlib import Path

import pytest

COMMANDS = [("status",), ("causes",), ("next",), ("undo",)]


@pytest.mark.usefixtures("hot")
@pytest.mark.parametrize("command", [("status",), ("causes",), ("next",)])
def test_only_case_in_the_folder_is_taken_and_said(run, command):
    Path("notes.yaml").write_text("a: list of mine\n", encoding="utf-8")
    ran = run(*command)
    assert ran.code == 0
    assert ran.out.startswith("Case: hot.yaml (the only one in this folder)")
    ran = run(*command, "--json")
    assert ran.json["schema"] == 1
    assert "hot.yaml" in ran.err


@pytest.mark.usefixtures("hot")
def test_commands_that_write_take_the_only_case_too(run):
    assert run("record", "puddle=yes").code == 0
    assert run("undo").code == 0
    assert run("confirm", "not_found").code == 0
    assert run("settings", "hour=30").code == 0
    kinds = [entry["kind"] for entry in run("status", "--json").json["entries"]]
    assert kinds == ["opened", "finding", "finding", "undo", "confirmed", "setting"]


@pytest.mark.parametrize("command", COMMANDS)
def test_no_case_or_several_in_the_folder_is_wrong_use(run, command):
    ran = run(*command)
    assert (ran.code, "no case lies in this folder" in ran.err) == (2, True)
    run("new", "one.yaml")
    run("new", "two.yaml")
    ran = run(*command)
    assert ran.code == 2
    assert "one.yaml" in ran.err
    assert "two.yaml" in ran.err


@pytest.mark.parametrize("command", [*COMMANDS, ("record", "x.yaml", "puddle=yes"), ("confirm", "x.yaml", "pump_worn")])
def test_missing_file_is_a_problem_of_the_data(run, folder, command):
    arguments = command if len(command) > 1 else (*command, "x.yaml")
    ran = run(*arguments, "--json")
    assert ran.code == 1
    (problem,) = ran.json["problems"]
    assert (problem["code"], problem["file"], problem["severity"]) == ("no-such-file", "x.yaml", "error")
    assert (problem["line"], problem["column"]) == (1, 1)
    assert list(folder.iterdir()) == []


@pytest.mark.parametrize("command", ["status", "causes", "next", "undo", "record", "confirm", "settings", "validate"])
def test_broken_case_is_told_and_stays_as_it_is(run, hot, command):
    broken = Path(hot).read_text(encoding="utf-8") + "  - entry: 3\n    finding: [never closed\n"
    Path(hot).write_text(broken, encoding="utf-8", newline="\n")
    more = {"record": ["puddle=yes"], "confirm": ["pump_worn"], "settings": ["hour=3"]}.get(command, [])
    ran = run(command, hot, *more, "--json")
    assert ran.code == 1
    assert ran.json["problems"][0]["file"] == hot
    assert ran.json["problems"][0]["line"] > 1
    assert Path(hot).read_text(encoding="utf-8") == broken


def test_file_that_is_no_case(run):
    Path("list.yaml").write_text("a: b\n", encoding="utf-8")
    ran = run("causes", "list.yaml", "--json")
    assert ran.code == 1
    assert ran.json["problems"][0]["code"] == "not-a-case"


def test_broken_knowledge_is_told(run, hot, folder):
    ran = run("causes", hot, "--json", base=folder / "nowhere")
    assert ran.code == 1
    assert ran.json["problems"][0]["code"] == "no-such-folder"


@pytest.mark.parametrize("arguments", [("causes", "--colour"), ("sing",), ("show",), ("find",), ("new",)])
def test_wrong_use_exits_with_2_and_says_nothing_on_standard_output(run, arguments):
    ran = run(*arguments)
    assert ran.code == 2
    assert ran.out == ""
    assert "Usage" in ran.err


def test_knowledge_may_stand_after_the_command_too(run, hot, tiny_base):
    ran = run("causes", hot, "--json", "--knowledge", str(tiny_base), base=Path("nowhere"))
    assert ran.code == 0


def test_version_tells_the_yaml_engine(run):
    ran = run("--version")
    assert ran.code == 0
    assert "libyaml" in ran.out or "python" in ran.out
