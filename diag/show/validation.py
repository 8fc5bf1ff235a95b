"""What a check of a knowledge base or a case found, and what a code of a problem means."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from diag.knowledge.codes import Explanation
from diag.network.cliques import CliqueSizes
from diag.network.plan import CELL_LIMIT
from diag.show.page import Page
from diag.show.problems import add_problems
from diag.show.working import add_working
from diag.text import Problem


def validation_page(
    problems: Sequence[Problem], counts: Mapping[str, int], more: Mapping[str, Any] | None = None
) -> Page:
    """Every problem with its place, then what was counted; of a base ``more``: largest cliques, what works in it."""
    page = Page()
    add_problems(page, problems)
    errors = sum(problem.severity == "error" for problem in problems)
    page.say(f"{errors} errors, {len(problems) - errors} warnings and notes." if problems else "Nothing is wrong.")
    page.say(", ".join(f"{name.replace('_', ' ')}: {count}" for name, count in counts.items()))
    if more:
        _add_cliques(page, more["cliques"])
        _add_working(page, more)
    if problems:
        page.say("What a code means: diag validate --explain CODE.")
    return page


def _add_cliques(page: Page, cliques: Sequence[CliqueSizes]) -> None:
    if cliques:
        page.title(f"Largest table, in cells (limit {CELL_LIMIT}): for the causes, and with all tests asked")
    for sizes in cliques:
        odd = ", all out of the ordinary" if sizes.answers == "odd" else ""
        page.say(f"{sizes.findings} findings recorded{odd}: {sizes.causes}, {sizes.tests}", 2)


def _add_working(page: Page, more: Mapping[str, Any]) -> None:
    """What works in the base, or that nobody counted it."""
    if more["working"]:
        add_working(page, more["working"])
    else:
        page.say(more["working_note"])


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
