"""What a notebook and a prompt show of a session: compact, in order, and no text of the user's ever more than text."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

import diag
from diag.case import as_entries, create, extend
from diag.case import load as load_case
from diag.cli.demo_play import cases_folder
from diag.explain.causes import LikelyCause

CASE = cases_folder() / "blown_fan_fuse.yaml"
EVIL = "<script>alert('x')</script> & <b>bold</b>\n\x1b[31m"


@pytest.fixture(scope="module")
def session() -> diag.Session:
    return diag.Session.open(CASE)


def cells(html: str) -> list[list[str]]:
    """The rows of all tables."""
    return [re.findall(r"<td>(.*?)</td>", row) for row in re.findall(r"<tr>(.*?)</tr>", html) if "<td>" in row]


def test_causes_are_a_table_in_their_order(session):
    rows = cells(session.causes._repr_html_())
    first = session.causes.causes[:8]
    assert [row[2] for row in rows] == [cause.id for cause in first]
    assert [float(row[1]) for row in rows] == pytest.approx(
        [c.probability for c in session.causes.causes[:8]], abs=0.005
    )
    shown = repr(session.causes).splitlines()
    assert shown[0] == f"likely causes, the first 8 of {len(session.causes.causes)}"
    assert [line.split()[-1] for line in shown[1:]] == [row[2] for row in rows]


def test_a_ranking_is_two_tables(session):
    rows = cells(session.ranking._repr_html_())
    assert [row[-1] for row in rows] == [p.id for p in (*session.ranking.questions[:5], *session.ranking.tests[:5])]
    assert float(rows[0][1]) == pytest.approx(session.ranking.questions[0].gain_bits, abs=0.005)
    assert len(repr(session.ranking).splitlines()) == 2 + len(rows)


def test_a_session_shows_what_it_is_and_both(session):
    assert repr(session).startswith("<Session of ") and "2 answers" in repr(session)
    assert session.causes._repr_html_() in session._repr_html_()
    assert session.ranking._repr_html_() in session._repr_html_()


def test_hostile_text_stays_text(session):
    causes = replace(session.causes, causes=(LikelyCause("evil", EVIL, 0.5), *session.causes.causes))
    case = replace(session.case, vehicle=EVIL, file=EVIL)
    for shown in (causes._repr_html_(), diag.Session.of(case, session.knowledge)._repr_html_()):
        assert "<script" not in shown and "<b>" not in shown
        assert "&lt;script&gt;" in shown
    assert "\x1b" not in repr(diag.Session.of(case, session.knowledge))
    assert len(repr(causes).splitlines()) == 9


def test_impossible_evidence_is_said_and_raises_nothing(tmp_path):
    strict = {"puddle: 0.8 (0.6..0.9) judgement": "puddle: 1 common_practice"}
    strict |= {"false_alarm: 0.03 (0.01..0.1) judgement": "false_alarm: 0 common_practice"}
    strict |= {"coolant_low: 0.9 (0.8..0.97) judgement": "coolant_low: 1 common_practice"}
    strict |= {"level_low: 0.9 (0.8..0.97) judgement": "level_low: 1 common_practice"}
    shutil.copytree(Path(__file__).parents[1] / "cli" / "tiny_base", tmp_path / "base")
    chapter = tmp_path / "base" / "chapters" / "pump.yaml"
    text = chapter.read_text(encoding="utf-8")
    for old, new in strict.items():
        text = text.replace(old, new)
    chapter.write_text(text, encoding="utf-8")
    knowledge = diag.load_knowledge(tmp_path / "base")
    create(tmp_path / "odd.yaml", "odd", {}, knowledge=knowledge.version)
    case = load_case(tmp_path / "odd.yaml")
    entries, _ = as_entries(case, knowledge, ["puddle=yes", "level_low=no"])
    case = extend(tmp_path / "odd.yaml", lambda _: entries, knowledge=knowledge.version)
    assert "nothing known explains" in diag.Session.of(case, knowledge)._repr_html_()


def test_the_example_of_the_api_runs_by_itself(tmp_path):
    """As a person types it: import diag, open a case, look at it."""
    program = (
        "import diag, pathlib\n"
        f"session = diag.Session.open(pathlib.Path({str(CASE)!r}))\n"
        "print(session, session.causes, session.ranking, sep='\\n')\n"
    )
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, cwd=tmp_path, check=True)
    assert "fan_motor_dead" in ran.stdout and "tests, the first 5" in ran.stdout
