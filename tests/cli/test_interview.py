"""The interview by plain standard input: what it asks, what it writes, and that the file is whole at every moment."""

from __future__ import annotations

import re
import shutil
from functools import cache
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from diag.case import (
    Case,
    ConfirmedEntry,
    FindingEntry,
    FittingEntry,
    SettingEntry,
    UndoEntry,
    append,
    as_entries,
    create,
    in_force,
    load,
)
from diag.cli.demo_play import cases_folder
from diag.cli.interview import BATCH
from diag.cli.interview_screen import likely
from diag.cli.main import app
from diag.explain import CauseList, LikelyCause
from diag.knowledge.types import Knowledge
from diag.session import Session, load_knowledge

TERMINAL = {"COLUMNS": "80"}


@cache
def knowledge() -> Knowledge:
    return load_knowledge()


def flat(text: str) -> str:
    return " ".join(text.split())


def interview(file: Path, *typed: str, options: tuple[str, ...] = ()) -> Result:
    lines = "".join(f"{line}\n" for line in typed)
    result = CliRunner().invoke(app, ["interview", str(file), *options], lines, env=TERMINAL, catch_exceptions=False)
    assert "\x1b" not in result.stdout
    return result


def told(case: Case) -> dict[str, str]:
    return {entry.finding: entry.state for entry in in_force(case) if isinstance(entry, FindingEntry)}


def a_case(tmp_path: Path, name: str = "blown_fan_fuse", **settings: str) -> Path:
    file = Path(shutil.copyfile(cases_folder() / f"{name}.yaml", tmp_path / "case.yaml"))
    entries = [SettingEntry(setting=setting, value=value) for setting, value in settings.items()]
    told = [FittingEntry(fitting=fitting, fitted=True) for fitting in ("electric_fan", "fault_code_socket")]
    append(file, [*told, *entries], knowledge=knowledge().version)
    return file


def batch(file: Path) -> list[str]:
    """The findings that the interview asks first, in its order."""
    return [question.id for question in Session.open(file, knowledge()).ranking.questions[:BATCH]]


def out_of_the_ordinary(id: str) -> str:
    """The second state: what an answer of "2" means."""
    return (knowledge().findings.get(id) or knowledge().history[id]).states[1]


def question_of(id: str) -> str:
    asked = knowledge().findings.get(id) or knowledge().history[id]
    return flat(asked.question)


def test_it_opens_with_what_not_to_do_now(tmp_path: Path) -> None:
    opening = flat(interview(tmp_path / "new.yaml").stdout.split("What brought")[0])
    for hazard in ("scald", "quench"):
        assert flat(knowledge().hazards[hazard].caution) in opening
    assert "Never open a hot system, and do not start it again" in opening


def test_a_new_file_is_made_and_left_whole_at_the_end_of_the_input(tmp_path: Path) -> None:
    file = tmp_path / "new.yaml"
    result = interview(file)
    assert result.exit_code == 0
    assert "Go on with: diag interview" in flat(result.stdout)
    assert len(load(file).entries) == 1


def test_free_words_are_never_guessed_silently(tmp_path: Path) -> None:
    file = tmp_path / "new.yaml"
    shown = interview(file, "hot in traffic").stdout
    assert "Which of these?" in shown
    assert "1. gets hot standing or in traffic" in flat(shown)
    assert told(load(file)) == {}
    interview(file, "hot in traffic", "")
    assert told(load(file)) == {}


def test_what_is_chosen_is_the_complaint_and_the_words_stand_beside_it(tmp_path: Path) -> None:
    file = tmp_path / "new.yaml"
    interview(file, "hot in traffic", "1", "loses coolant", "1", "")
    first, second = load(file).entries[1:]
    assert isinstance(first, FindingEntry) and isinstance(second, FindingEntry)
    assert (first.finding, first.complaint, first.note) == ("overheats_standing", True, "hot in traffic")
    assert (second.finding, second.complaint) == ("coolant_level_drops", False)


def test_words_that_mean_nothing_are_said_to_and_the_whole_list_can_be_chosen_from(tmp_path: Path) -> None:
    file = tmp_path / "new.yaml"
    shown = interview(file, "qqqq", "l", "99", "1", "").stdout
    assert "Nothing like it is known" in shown
    assert "Numbers from 1 to" in shown
    assert len(told(load(file))) == 1


def test_a_case_with_a_complaint_is_not_asked_for_it(tmp_path: Path) -> None:
    shown = interview(a_case(tmp_path)).stdout
    assert "What brought" not in shown
    assert "Ask these four now" in shown


def test_every_answer_is_in_the_file_at_once_and_the_likely_causes_follow_it(tmp_path: Path) -> None:
    file = a_case(tmp_path)
    first = batch(file)[0]
    shown = interview(file, "2").stdout
    assert told(load(file))[first] == out_of_the_ordinary(first)
    assert re.search(r"Likely now:.*\(much up\)", flat(shown))


def test_each_kind_of_answer(tmp_path: Path) -> None:
    file = a_case(tmp_path)
    first, second, third, fourth = batch(file)
    shown = interview(file, "u 2", "d", "what?", "g", "2").stdout
    states = told(load(file))
    assert states[first] == f"unsure:{out_of_the_ordinary(first)}"
    assert (states[third], states[fourth]) == ("gone", out_of_the_ordinary(fourth))
    assert second not in states
    assert "That is none of the answers." in shown


def test_back_takes_the_last_answer_back_by_an_undo_entry_and_asks_again(tmp_path: Path) -> None:
    file = a_case(tmp_path)
    first = batch(file)[0]
    shown = flat(interview(file, "2", "b", "1").stdout)
    *_, yes, undo, no = load(file).entries
    assert isinstance(undo, UndoEntry) and undo.undo == yes.number
    assert isinstance(no, FindingEntry) and no.finding == first and no.state != out_of_the_ordinary(first)
    assert shown.count(f"? {question_of(first)}") == 2


def test_back_after_dont_know_asks_again_and_writes_nothing(tmp_path: Path) -> None:
    file = a_case(tmp_path)
    before = file.read_bytes()
    shown = flat(interview(file, "d", "b").stdout)
    assert shown.count(f"? {question_of(batch(file)[0])}") == 2
    assert file.read_bytes() == before


def test_back_in_a_new_sitting_takes_back_what_the_last_one_wrote(tmp_path: Path) -> None:
    file = a_case(tmp_path)
    first = batch(file)[0]
    interview(file, "2")
    assert first in told(load(file))
    interview(file, "b", "d")
    assert first not in told(load(file))


def test_back_to_the_beginning_takes_the_complaint_back_and_asks_for_it_again(tmp_path: Path) -> None:
    file = tmp_path / "case.yaml"
    create(file, "van", {}, knowledge=knowledge().version)
    interview(file, "never gets warm", "1", "")
    assert len(told(load(file))) == 1
    shown = interview(file, "b", "no", *["d"] * BATCH).stdout
    assert "What brought the vehicle in?" in shown
    assert not any(isinstance(entry, FindingEntry) and entry.complaint for entry in in_force(load(file)))


def test_after_the_questions_comes_the_best_test_with_how_and_cautions(tmp_path: Path) -> None:
    file = a_case(tmp_path)
    test = knowledge().tests[Session.open(file, knowledge()).ranking.tests[0].id]
    shown = flat(interview(file, *["d"] * BATCH).stdout)
    card = shown.split("Do this next: ")[1]
    assert card.startswith(test.name)
    assert all(flat(line) in card for line in test.how)
    assert all(flat(knowledge().hazards[hazard].caution) in card for hazard in test.hazards)
    assert question_of(test.reveals[0]) in card


def test_what_cannot_be_done_here_is_left_out_for_this_sitting_only(tmp_path: Path) -> None:
    file = a_case(tmp_path)
    cards = re.findall(
        r"^Do this next: (.*)$", interview(file, *["d"] * BATCH, "c", *["d"] * BATCH).stdout, re.MULTILINE
    )
    assert len(cards) == len(set(cards)) == 2
    again = re.findall(r"^Do this next: (.*)$", interview(file, *["d"] * BATCH).stdout, re.MULTILINE)
    assert again == cards[:1]


def test_what_nobody_knows_is_not_asked_again_and_the_sitting_ends(tmp_path: Path) -> None:
    file = a_case(tmp_path, least_gain="0.3")
    before = file.read_bytes()
    result = interview(file, *["d"] * 60)
    asked = re.findall(r"^\? (.*)$", result.stdout.replace("> ", "\n"), re.MULTILINE)
    by_talk = [line for line in asked if asked.count(line) > 2]
    assert asked and by_talk == []  # once by talk, once at the test that shows it
    assert "Nothing left to ask now" in result.stdout
    assert "Go on with" not in result.stdout
    assert (result.exit_code, file.read_bytes()) == (0, before)


def test_it_ends_where_the_ranking_advises_it_says_why_and_tells_the_next_command(tmp_path: Path) -> None:
    file = a_case(tmp_path, "lukewarm_winter", certainty="0.5")
    leader = Session.open(file, knowledge()).diagnosis.leader
    shown = interview(file).stdout
    assert "Stop testing here" in shown
    assert "likelier than the certainty wanted (0.5)" in flat(shown)
    assert flat(knowledge().causes[leader].proved_by) in flat(shown)
    assert f"diag confirm {file} {leader}" in flat(shown).replace("/ ", "/")
    assert "?" not in shown.split("Stop testing here")[1]


def test_enough_is_noticed_in_the_middle_of_the_questions(tmp_path: Path) -> None:
    file = a_case(tmp_path, "lukewarm_winter")
    first = batch(file)[0]
    entries, _ = as_entries(load(file), knowledge(), [f"{first}={out_of_the_ordinary(first)}"])
    before = Session.open(file, knowledge()).causes.causes[0].probability
    then = Session.of(append(file, entries, knowledge="any"), knowledge()).causes.causes[0].probability
    assert then > before, "the first question of this case must speak for the leader"
    file = a_case(tmp_path, "lukewarm_winter", certainty=f"{(before + then) / 2:.4f}")
    assert "Stop testing here" in interview(file, "2").stdout
    assert set(told(load(file))) == {"warms_up_slowly", first}


def test_a_confirmed_case_is_asked_nothing(tmp_path: Path) -> None:
    file = a_case(tmp_path)
    append(file, [ConfirmedEntry(confirmed="fan_supply_fault")], knowledge=knowledge().version)
    shown = interview(file).stdout
    assert "closed: fan_supply_fault is confirmed" in flat(shown)
    assert "Ask these" not in shown


def test_it_goes_on_with_what_is_open(tmp_path: Path) -> None:
    file = a_case(tmp_path)
    first = batch(file)[0]
    interview(file, "d")
    assert f"? {question_of(first)}" in flat(interview(file, "2").stdout)  # not known then, open now
    shown = flat(interview(file).stdout)
    assert f"? {question_of(first)}" not in shown
    assert f"? {question_of(batch(file)[0])}" in shown


def test_h_tells_how_to_answer_and_s_stops(tmp_path: Path) -> None:
    file = a_case(tmp_path)
    shown = interview(file, "h", "s").stdout
    assert shown.count("c can't do that here".replace("c ", "c  ")) == 2
    assert "Stopped." in shown


def test_a_fitting_that_matters_for_a_test_is_asked_once_and_written_down(tmp_path: Path) -> None:
    file = tmp_path / "case.yaml"
    create(file, "van", {}, knowledge=knowledge().version)
    interview(file, "fan never comes on", "1", "", *["d"] * BATCH, "maybe", "no")
    assert load(file).entries[-1].number == 3
    observations = Session.open(file, knowledge()).observations
    assert observations.fitted == {"electric_fan": False}


def test_answers_that_exclude_each_other_are_told_and_can_be_taken_back(tmp_path: Path) -> None:
    base = tmp_path / "base"
    shutil.copytree(Path(__file__).parents[1] / "knowledge" / "small_base", base)
    chapter = base / "chapters" / "pump.yaml"
    text = chapter.read_text(encoding="utf-8").replace("false_alarm: 0.05 (0..0.1)", "false_alarm: 0 (0..0.1)")
    chapter.write_text(text, encoding="utf-8", newline="\n")
    file = tmp_path / "case.yaml"
    create(file, "van", {"turbo": False}, knowledge="any")
    noisy = FindingEntry(finding="pump_noisy", state="yes")
    append(file, [FindingEntry(finding="gauge", state="high", complaint=True), noisy], knowledge="any")
    shown = interview(file, "what?", "b", "no", options=("--knowledge", str(base))).stdout
    assert "nothing known explains these together" in flat(shown)
    assert told(load(file)) == {"gauge": "high", "pump_noisy": "no"}


def test_a_broken_file_is_told_and_left_as_it_is(tmp_path: Path) -> None:
    file = tmp_path / "broken.yaml"
    file.write_text("entries: [\n", encoding="utf-8")
    result = interview(file)
    assert result.exit_code == 1
    assert "broken.yaml" in result.stderr
    assert file.read_text(encoding="utf-8") == "entries: [\n"


def test_nothing_is_wider_than_the_terminal_and_frames_are_ascii(tmp_path: Path) -> None:
    shown = interview(a_case(tmp_path), "2", *["d"] * BATCH, "1", "c").stdout
    assert max(len(line) for line in shown.replace("> ", "\n").split("\n")) <= 80
    assert shown.isascii()


def listed(**probabilities: float) -> CauseList:
    causes = tuple(LikelyCause(id, id, p) for id, p in probabilities.items())
    return CauseList(causes, (), (), (), 0.0, 0.0, {})


def test_words_tell_how_a_cause_moved() -> None:
    # odds: a 1/9 -> 1 (nine times), b 1/4 -> 1/3 (a third more), c 1/2 -> 1/2.1 (no word), d 1 -> 0.05 (a twentieth)
    before, now = listed(a=0.1, b=0.2, c=0.3333, d=0.5), listed(a=0.5, b=0.25, c=0.3226, d=0.0476)
    lines = [line.text for line in likely(before, now).lines[1:]]
    assert [re.findall(r"\(.*\)", line) for line in lines] == [["(much up)"], ["(up)"], [], ["(much down)"]]


def test_the_first_list_has_nothing_to_compare_with() -> None:
    assert "(" not in likely(None, listed(a=1.0)).lines[1].text


@pytest.mark.parametrize("typed", ["\x1b[2J", "\x00", "\u202e"])
def test_what_acts_on_a_terminal_is_never_echoed(tmp_path: Path, typed: str) -> None:
    shown = interview(tmp_path / "new.yaml", f"hot in traffic {typed}", "1", typed).stdout
    assert typed not in shown
