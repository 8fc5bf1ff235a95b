"""The cheapest plan of a small problem, as a tree in words."""

from __future__ import annotations

from typing import Any

from diag.plan.small_solver import END, SmallAnswer, SmallPlan
from diag.show.as_json import plain
from diag.show.page import Page
from diag.show.words import per_cent

INDENT = 4


def solution_data(file: str, answer: SmallAnswer) -> dict[str, Any]:
    """The fields of ``diag solve --json``."""
    told: dict[str, Any] = plain(answer)
    return {"file": file, **told}


def solution_page(file: str, answer: SmallAnswer) -> Page:
    """The cost, whether it is proved, and the plan."""
    page = Page()
    page.title(f"Plan for {file}")
    page.say(f"Expected cost {answer.expected_cost:.6g}: {_how_sure(answer)}.")
    _add_plan(page, answer.plan, 2, "")
    return page


def _how_sure(answer: SmallAnswer) -> str:
    if answer.proved:
        return "proved, no plan is cheaper"
    ahead = "as far as could be looked" if answer.depth is None else f"looking {answer.depth} ahead"
    return f"not proved to be the cheapest ({ahead}); no plan costs less than {answer.lower_bound:.6g}"


def _add_plan(page: Page, plan: SmallPlan, indent: int, when: str) -> None:
    first = f"{when}: " if when else ""
    chance = f" ({per_cent(plan.probability)})" if when else ""
    page.say(f"{first}{_act(plan)}{chance}", indent, "-")
    for result, then in plan.then.items():
        _add_plan(page, then, indent + INDENT, f"if {result}")


def _act(plan: SmallPlan) -> str:
    if not plan.act:
        return "done"
    if plan.act == END:
        return f"end it, cost {plan.cost:g}"
    first = f", first {', '.join(plan.steps)}" if plan.steps else ""
    return f"{plan.kind} {plan.act}{first}, cost {plan.cost:g}"
