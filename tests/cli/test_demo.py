"""The demo: real commands on a copy, and every figure on its screens is that of the step's --json."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from typer.testing import CliRunner

from diag.cli.demo import LINES, shortened
from diag.cli.demo_play import FILE, Play, cases_folder, commands, names, read_play
from diag.cli.main import app
from diag.knowledge.load import shipped_folder
from diag.show.words import chance, duration, money, tells

SHORT = "lukewarm_winter"
WIDE = {"COLUMNS": "200"}  # a page is never wider than its own limit; names are compared without line ends


def run(*arguments: str) -> str:
    result = CliRunner().invoke(app, list(arguments), env=WIDE, catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.stdout


@cache
def demo(*options: str) -> str:
    return run("demo", *options)


def flat(text: str) -> str:
    return " ".join(text.split())


@dataclass(frozen=True)
class Screen:
    """A screen of the demo, and the --json of the same command on a copy at the same step."""

    command: str
    shown: str
    answer: dict[str, Any]


def screens(output: str, play: Play) -> Iterator[Screen]:
    """Plays the commands anew on a copy of our own, beside the screens that the demo showed."""
    shown = re.split(r"^\$ diag .*$", output, flags=re.MULTILINE)[1:]
    typed = re.findall(r"^\$ diag (.*)$", output, flags=re.MULTILINE)
    told = [arguments for _, done in commands(play) for arguments in done]
    assert len(shown) == len(told)
    with TemporaryDirectory() as folder:
        copy = str(shutil.copyfile(play.case, Path(folder) / FILE))
        for line, screen, arguments in zip(typed, shown, told, strict=True):
            assert line.startswith(f"{arguments[0]} {FILE}")
            here = [copy if argument == FILE else argument for argument in arguments]
            yield Screen(arguments[0], screen, json.loads(run(*here, "--json")))


@cache
def played(name: str) -> tuple[Screen, ...]:
    return tuple(screens(demo(name), read_play(cases_folder(), name)))


def of(command: str) -> Sequence[Screen]:
    return [screen for screen in played(SHORT) if screen.command == command]


def test_the_play_goes_from_the_complaint_to_the_confirmed_cause() -> None:
    done = [screen.command for screen in played(SHORT)]
    steps = len(read_play(cases_folder(), SHORT).steps)
    assert done == ["causes", "next", *["record", "causes", "next"] * steps, "confirm"]
    assert played(SHORT)[-1].answer["recorded"][0]["confirmed"] == "thermostat_stuck_open"


def test_the_likeliest_causes_shown_are_those_of_json_with_their_figures() -> None:
    for screen in of("causes"):
        shown = re.findall(r"(\d)\. ([^()]+(?:\([^()]*\) )?)\((\w+)\)(.*?)(?= \d\. |\.\.\.|$)", flat(screen.shown))
        assert shown
        for (place, name, id, figures), cause in zip(shown, screen.answer["causes"], strict=False):
            assert (id, name.strip()) == (cause["id"], cause["name"])
            assert chance(cause["probability"]) in figures, place


def test_the_leader_and_the_next_test_shown_are_those_of_json() -> None:
    for screen, causes in zip(of("next"), of("causes"), strict=True):
        leader, best = causes.answer["causes"][0], screen.answer["tests"][0]
        shown = flat(screen.shown)
        assert f"Leading so far: {leader['name']}, {chance(leader['probability'])}." in shown
        card = shown.split("Do this next: ")[1]
        assert card.startswith(best["name"])
        figures = (tells(best["gain_bits"]).capitalize(), duration(best["minutes"]), money(best["money"]))
        assert all(figure in card for figure in figures)


def test_what_is_recorded_is_told_as_it_is_recorded() -> None:
    for screen in of("record"):
        for entry in screen.answer["recorded"]:
            assert f"{entry['number']}. {entry['finding']}={entry['state']} " in flat(screen.shown)


def test_the_lead_of_the_true_cause_grows_on_the_screens() -> None:
    course = [screen.answer["causes"][0]["probability"] for screen in of("causes")]
    assert course == sorted(course)


def test_another_weight_in_the_knowledge_changes_the_play(tmp_path: Path) -> None:
    other = tmp_path / "knowledge"
    shutil.copytree(shipped_folder(), other)
    chapter = other / "chapters" / "thermostat.yaml"
    text = chapter.read_text(encoding="utf-8")
    head, found, rest = text.partition("\n  thermostat_stuck_open:\n")
    assert found
    changed = re.sub(r"weight: \S+ \(\S+\)", "weight: 0.01 (0.005..0.02)", rest, count=1)
    chapter.write_text(head + found + changed, encoding="utf-8", newline="\n")
    first = flat(run("demo", SHORT, "--knowledge", str(other)).split("$ diag next")[0])
    assert "1. thermostat stuck open" in flat(demo(SHORT).split("$ diag next")[0])
    assert "1. thermostat stuck open" not in first


def test_knowledge_named_before_the_command_counts_too(tmp_path: Path) -> None:
    (tmp_path / "chapters").mkdir()
    result = CliRunner().invoke(app, ["--knowledge", str(tmp_path / "nowhere"), "demo", SHORT])
    assert result.exit_code == 1


def test_the_worked_case_itself_stays_as_it_was() -> None:
    case = read_play(cases_folder(), SHORT).case
    before = case.read_bytes()
    demo(SHORT)
    assert case.read_bytes() == before
    assert not case.with_name(f"{case.name}.lock").exists()


@pytest.mark.parametrize("name", [name for name in names(cases_folder()) if name != SHORT])
def test_every_worked_case_can_be_played(name: str) -> None:
    output = demo(name)
    assert f"$ diag confirm {FILE} {read_play(cases_folder(), name).confirmed}" in output
    assert max(len(line) for line in output.split("\n") if not line.startswith("$")) <= 96


def test_a_wrong_name_is_answered_with_the_nearest() -> None:
    result = CliRunner().invoke(app, ["demo", "lukewarm_wintr"])
    assert (result.exit_code, result.stdout) == (1, "")
    assert "Did you mean lukewarm_winter?" in flat(result.stderr)


SCREEN = "Head\n one\n two\n three\nOther\n one\n\nAlways the same.\n"


def test_a_screen_is_cut_below_its_headings_and_told_so() -> None:
    assert list(shortened(SCREEN, 2)) == ["Head", " one", " two", "   ...", "Other", " one"]


def test_a_screen_without_a_limit_loses_blank_lines_only() -> None:
    assert list(shortened(SCREEN, None)) == [line for line in SCREEN.split("\n") if line]


def test_a_screen_of_one_paragraph_is_kept() -> None:
    assert list(shortened("Only this.\n", 2)) == ["Only this."]


def test_only_screens_that_repeat_are_cut() -> None:
    assert set(LINES) == {"causes", "next"}
