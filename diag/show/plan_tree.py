"""The plan as a tree in words: do this; if it shows this, then that."""

from __future__ import annotations

from collections.abc import Mapping

from diag.plan.look_ahead import Plan, PlanPoint
from diag.session import Session
from diag.show.names import ADVICE, asked, cause_name, word
from diag.show.page import Page
from diag.show.words import chance, duration, money, per_cent

INDENT = 3
LEAST = 0.03  # outcomes rarer than this are counted, not shown


def add_plan(page: Page, session: Session, plan: Plan, numbers: bool) -> None:
    """The tree, then what it comes to."""
    page.title(f"Plan, {plan.depth} steps ahead")
    _add_point(page, session, plan.root, 2, "", numbers)
    page.title("What it comes to")
    page.say(f"Expected cost of all from here: about {_round(plan.root.expected_cost)}.", 2)
    page.say(f"Sure of the cause at the end of these steps: {chance(plan.sure)}.", 2)
    page.say(f"Work left, repair included: half of the time at most {duration(plan.minutes[0])}.", 2)
    page.say(f"In a bad case (one in ten is worse): {duration(plan.minutes[1])}.", 2)
    page.say(f"Money left: half of the time {money(plan.money[0])}; in a bad case {money(plan.money[1])}.", 2)
    page.say("Counted so: after these steps repair and see, likeliest for its price first, ended where dearer.", 2)
    page.blank()
    page.say(ADVICE)


def _add_point(page: Page, session: Session, point: PlanPoint, indent: int, when: str, numbers: bool) -> None:
    figures = f" [expected {point.expected_cost:.0f}, leader {per_cent(point.certainty)}]" if numbers else ""
    page.say(f"{when}{_what(session, point)}{figures}", indent, "-")
    rare = 0.0
    for branch in point.branches:
        if branch.probability < LEAST:
            rare += branch.probability
        else:
            told = f"If {_told(session, branch.findings)} ({chance(branch.probability)}): "
            _add_point(page, session, branch.then, indent + INDENT, told, numbers)
    if rare > 0:
        page.say(f"Rarer outcomes ({chance(rare)}): ask again then.", indent + INDENT, "-")


def _what(session: Session, point: PlanPoint) -> str:
    leads = f"{cause_name(session.knowledge, point.leader)}, {chance(point.certainty)}"
    if point.act is None:
        return f"{point.why}; leads: {leads}"
    kind = "" if point.act.id in session.knowledge.tests else "ask: "
    steps = [session.knowledge.access[step].name for step in point.act.way.steps]
    first = f", first {', '.join(steps)}" if steps else ""
    return f"{kind}{point.act.name} ({point.act.id}), {duration(point.act.minutes)}{first}"


def _told(session: Session, findings: Mapping[str, str]) -> str:
    told = (f"{asked(session.knowledge, f).name}: {word(session.knowledge, f, s)}" for f, s in findings.items())
    return "; ".join(told)


def _round(cost: float) -> str:
    step = 1 if cost < 20 else 5 if cost < 100 else 10
    return f"{step * round(cost / step)}"
