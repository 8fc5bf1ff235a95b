"""Small problems from a file: every part read, and what is wrong told with its place."""

from pathlib import Path

import pytest

from diag.plan.small_file import read_small_problem
from diag.plan.small_solver import solve

WHOLE = """\
small_problem: mend
causes: {a: 0.7, b: 0.3}
tests:
  t1: {cost: 1, shows: {low: {a: 0.2}, high: [b]}, access: [opened]}
repairs:
  r1: {cost: 3, mends: {a: 0.9}, access: [opened]}
  r2: {cost: 4, mends: [b]}
access:
  cold: {cost: 1}
  opened: {cost: 2, undo: 1, needs: [cold]}
ending: 40
"""


def test_every_part_is_read(tmp_path: Path):
    path = tmp_path / "p.yaml"
    path.write_text(WHOLE, encoding="utf-8")
    problem, problems = read_small_problem(path)
    assert problem is not None and not problems
    assert {name: list(p) for name, p in problem.tests["t1"].results.items()} == {
        "no": pytest.approx([0.8, 0.0]),
        "low": [0.2, 0.0],
        "high": [0.0, 1.0],
    }
    assert problem.repairs["r1"].mends == (0.9, 0.0) and problem.access["opened"].needs == ("cold",)
    # By hand: r1 first 3 + 1 + 2 + 1 = 7, left 0.07 + 0.3; then r2 4 and, left 0.07, the ending 40.
    assert solve(problem).expected_cost <= 7 + 0.37 * 4 + 0.07 * 40 + 1e-12


@pytest.mark.parametrize(
    ("old", "new", "line", "says"),
    [
        ("mend\n", "search\n", 1, "one of find, mend"),
        ("b: 0.3", "b: 0.2", 2, "adding up to 1"),
        ("cost: 1, shows", "cost: -1, shows", 4, "a number from 0"),
        ("high: [b]", "high: [c]", 4, "there is no cause 'c'"),
        ("low: {a: 0.2}", "low: {b: 0.2}", 4, "add up to more than 1"),
        ("mends: [b]}", "mends: b}", 7, "a list is expected"),
        ("access: [opened]}\n  r2", "access: [open]}\n  r2", 6, "there is no access step 'open'"),
        ("needs: [cold]", "needs: [opened]", 10, "needs itself"),
        ("ending: 40\n", "", 1, "no repair mends a for certain"),
        ("ending: 40", "endings: 40", 11, "there is no field 'endings'"),
        ("ending: 40", "ending: nan", 11, "a number from 0"),
    ],
)
def test_what_is_wrong_is_told_with_its_place(tmp_path: Path, old: str, new: str, line: int, says: str):
    assert old in WHOLE
    path = tmp_path / "p.yaml"
    path.write_text(WHOLE.replace(old, new), encoding="utf-8")
    problem, (found,) = read_small_problem(path)
    assert problem is None
    assert says in found.message and found.mark.line == line
