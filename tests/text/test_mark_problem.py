"""Problems sort by place and print as editors can jump to them."""

from __future__ import annotations

import pytest

from diag.text import Mark, Problem, ProblemsFound


def test_a_problem_prints_place_what_hint_and_code() -> None:
    problem = Problem(Mark("a.yaml", 3, 7), "cycle", "runs in a circle.", "Break it.")
    assert str(problem) == "a.yaml:3:7: error: runs in a circle. Break it. [cycle]"
    assert str(Problem(Mark("a", 1, 1), "x", "so.", severity="warning")) == "a:1:1: warning: so. [x]"


def test_problems_are_carried_sorted_by_file_line_and_column() -> None:
    places = [("b", 1, 1), ("a", 10, 1), ("a", 2, 5), ("a", 2, 3)]
    found = ProblemsFound(Problem(Mark(*place), "x", "so.") for place in places)
    assert [(p.mark.file, p.mark.line, p.mark.column) for p in found.problems] == sorted(places)


def test_marks_are_frozen() -> None:
    with pytest.raises(AttributeError):
        Mark("a", 1, 1).line = 2  # type: ignore[misc]
