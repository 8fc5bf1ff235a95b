"""What a check of a knowledge base or a case found, and what a code of a problem means."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from diag.knowledge.codes import Explanation
from diag.show.page import Page
from diag.show.problems import add_problems
from diag.show.working import add_working
from diag.text import Problem


def validation_page(
    problems: Sequence[Problem], counts: Mapping[str, int], working: Mapping[str, Any] | None = None
) -> Page:
    """Every problem with its place, then what was counted; of a base what works in it, or that nobody knows."""
    page = Page()
    add_problems(page, problems)
    errors = sum(problem.severity == "error" for problem in problems)
    page.say(f"{errors} errors, {len(problems) - errors} warnings and notes." if problems else "Nothing is wrong.")
    page.say(", ".join(f"{name.replace('_', ' ')}: {count}" for name, count in counts.items()))
    if working and working["working"]:
        add_working(page, working["working"])
    elif working:
        page.say(working["working_note"])
    if problems:
        page.say("What a code means: diag validate --explain CODE.")
    return page


def explanation_page(explanation: Explanation) -> Page:
    """The rule behind a code, with a wrong and a right example."""
    page = Page()
    page.title(explanation.code)
    page.say(explanation.says, 2)
    for name, example in (("Wrong:", explanation.wrong), ("Right:", explanation.right)):
        page.say(name, 2)
        for line in example.splitlines():
            indent = len(line) - len(line.lstrip())
            page.say(line.lstrip(), 4 + indent)
    return page
