"""What would decide a theory: for programs, and in words."""

from __future__ import annotations

from typing import Any

from diag.knowledge.lookup import hazards_of_test
from diag.plan import Deciding, DecidingActs
from diag.session import Session
from diag.show.as_json import plain
from diag.show.names import asked, word
from diag.show.page import Page
from diag.show.words import chance, duration, money


def act_data(session: Session, deciding: Deciding) -> dict[str, Any]:
    """One question or test for programs."""
    told = plain(deciding)
    act = told.pop("act")
    steps = act.pop("way")["steps"]
    return {**act, "access_steps": steps, **told, "cautions": _cautions(session, deciding)}


def _cautions(session: Session, deciding: Deciding) -> list[str]:
    base = session.knowledge
    test = base.tests.get(deciding.act.id)
    return [base.hazards[h].caution for h in hazards_of_test(base, test, deciding.act.way.steps)] if test else []


def add_acts(page: Page, session: Session, acts: DecidingActs, numbers: bool) -> None:
    """The questions and tests that move the theory, each with its best and its worst outcome."""
    questions, tests = ([d for d in found if _moves(d)] for found in (acts.questions, acts.tests))
    if not (questions or tests):
        page.say("Nothing that is still open would move it much.", 1)
        return
    page.say("What would decide:", 1)
    for deciding in questions:
        page.say(f"ask: {asked(session.knowledge, deciding.act.id).question}{_figures(deciding, numbers)}", 2, "-")
        _add_decisions(page, session, deciding)
    # Every caution once, before the first test that it is for.
    for caution in dict.fromkeys(caution for deciding in tests for caution in _cautions(session, deciding)):
        page.say(caution, 2, "!")
    for deciding in tests:
        page.say(f"{deciding.act.name} ({deciding.act.id}): {_takes(session, deciding, numbers)}", 2, "-")
        _add_decisions(page, session, deciding)


def _moves(deciding: Deciding) -> bool:
    """Whether the words differ between the best outcome and the worst."""
    return len({chance(decision.then) for decision in deciding.outcomes}) > 1


def _takes(session: Session, deciding: Deciding, numbers: bool) -> str:
    act = deciding.act
    steps = [session.knowledge.access[step].name for step in act.way.steps]
    first = f", first: {', '.join(steps)}" if steps else ""
    waiting = f" and {duration(act.waiting)} of waiting" if act.waiting >= 1 else ""
    return f"{duration(act.minutes)}{waiting}, {money(act.money)}{first}{_figures(deciding, numbers)}"


def _figures(deciding: Deciding, numbers: bool) -> str:
    return f" [{deciding.gain_bits:.2g} bits, cost {deciding.act.cost:.2f}]" if numbers else ""


def _add_decisions(page: Page, session: Session, deciding: Deciding) -> None:
    """The outcomes that would raise the theory most and lower it most."""
    best = max(deciding.outcomes, key=lambda decision: decision.then)
    worst = min(deciding.outcomes, key=lambda decision: decision.then)
    for decision in (best, worst):
        told = ", ".join(f"{f}={s} ({word(session.knowledge, f, s)})" for f, s in decision.findings.items())
        page.say(f"{told}: then the theory holds {chance(decision.then)}", 6)
