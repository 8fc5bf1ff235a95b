"""``diag solve`` on the published problem, on the screen and for programs."""

from pathlib import Path

import pytest

SEQUENCING = Path(__file__).parents[1] / "published" / "sequencing.yaml"


def test_proved_by_default_and_not_when_looking_one_step_ahead(run):
    best = run("solve", str(SEQUENCING), "--json").json
    assert best["schema"] == 1 and best["proved"] is True
    assert best["expected_cost"] == pytest.approx(2.18)  # Pattipati and Alexandridis 1990
    greedy = run("solve", str(SEQUENCING), "--depth", "1", "--json").json
    assert greedy["proved"] is False and greedy["expected_cost"] == pytest.approx(2.86)


def test_the_screen_says_which_of_the_two(run):
    best = run("solve", str(SEQUENCING)).out
    assert "Expected cost 2.18: proved" in best and "- test t2, cost 1" in best
    assert "not proved" in run("solve", str(SEQUENCING), "--depth", "1").out


def test_a_wrong_file_is_told_and_ends_with_1(run, folder: Path):
    (folder / "p.yaml").write_text("causes: {a: 1}\n", encoding="utf-8")
    ran = run("solve", "p.yaml", "--json")
    assert ran.code == 1 and "small_problem" in ran.json["problems"][0]["message"]
    assert run("solve", "p.yaml", "--depth", "0").code == 2
