"""Mistakes in files, and in what was typed, for people and for programs."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from diag.case.record import ARGUMENT
from diag.show.page import Page
from diag.text import Problem


def problems_data(problems: Iterable[Problem]) -> list[dict[str, Any]]:
    """Each problem as the JSON answers give it."""
    return [
        {
            "file": problem.mark.file,
            "line": problem.mark.line,
            "column": problem.mark.column,
            "severity": problem.severity,
            "code": problem.code,
            "message": problem.message,
            "hint": problem.hint,
        }
        for problem in problems
    ]


def add_problems(page: Page, problems: Iterable[Problem]) -> None:
    """Each problem with its place, unless it stands in what was typed just now."""
    for problem in problems:
        place = "" if problem.mark.file == ARGUMENT else f"{problem.mark}: "
        page.say(f"{place}{problem.severity}: {problem.message} {problem.hint}".rstrip() + f" [{problem.code}]")
