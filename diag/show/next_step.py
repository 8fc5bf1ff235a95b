"""What to ask and to test next: the whole lists for programs, a job card for people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from diag.knowledge.types import Finding
from diag.plan import Proposal, Ranking
from diag.plan.actions import Action
from diag.plan.last_look import LastLook
from diag.plan.look_ahead import Plan
from diag.session import Session
from diag.show.as_json import plain
from diag.show.job_card import add_job_card, cautions, figures, told_in_brief
from diag.show.names import ADVICE, add_standing, asked, cause_name, name_of
from diag.show.page import Page
from diag.show.words import chance, duration, money, tells

QUESTIONS = 4  # as many as are asked in one go
OTHERS = 3
MOST_LOCKED = 3
UNEXPLAINED = 2


def next_data(
    session: Session, ranking: Ranking, look: LastLook | None = None, plan: Plan | None = None
) -> dict[str, Any]:
    """The fields of ``diag next --json``; ``before`` and ``plan`` where they were asked for."""
    more = {"before": plain(look)} if look else {}
    more |= {"plan": plain(plan)} if plan else {}
    return {
        "file": session.case.file,
        "questions": [_proposal_data(question) for question in ranking.questions],
        "tests": [{**_proposal_data(test), **_test_data(session, test)} for test in ranking.tests],
        "locked": plain(ranking.locked),
        "actions": plain(session.actions),
        "stop": plain(ranking.stop),
        **more,
    }


def _proposal_data(proposal: Proposal) -> dict[str, Any]:
    told: dict[str, Any] = plain(proposal)
    way = told.pop("way")
    return {
        **told,
        "access_steps": way["steps"],
        "access_minutes": way["minutes"] + way["undo_minutes"],
        "access_undone": way["undone"],
    }


def _test_data(session: Session, proposal: Proposal) -> dict[str, Any]:
    test = session.knowledge.tests[proposal.id]
    told = [{"hazard": hazard, "caution": caution} for hazard, caution in cautions(session.knowledge, test, proposal)]
    return {"tools": list(test.tools), "skill": test.skill, "cautions": told, "misleads": test.misleads}


def next_page(session: Session, numbers: bool, ranking: Ranking, about: Sequence[str] = ()) -> Page:
    """One column: who leads, ask these now, do this next, or these, or repair and see."""
    page = Page(imperial=session.settings.imperial)
    leader = session.causes.causes[0]
    page.title(f"{session.case.vehicle} ({session.case.file})")
    add_standing(page, session)
    if about:
        page.say(f"Ranked by what is told about {', '.join(name_of(session.knowledge, id) for id in about)}.")
    page.say(f"Leading so far: {leader.name}, {chance(leader.probability)}.")
    if ranking.stop.advised:
        page.say(f"Enough is known to stop here: {_why(session, ranking.stop.why)}.")
    for finding in ranking.stop.unexplained[:UNEXPLAINED]:
        name = session.knowledge.findings[finding].name
        page.say(f"Not explained yet by anything known: {name} ({finding}); go on looking.")
    _add_questions(page, session, ranking.questions[:QUESTIONS], numbers)
    if ranking.tests:
        page.title(f"Do this next: {ranking.tests[0].name}")
        add_job_card(page, session, ranking.tests[0], numbers)
    _add_others(page, session, ranking.tests[1 : 1 + OTHERS], numbers)
    _add_locked(page, ranking)
    _add_actions(page, session, numbers)
    page.blank()
    page.say(ADVICE)
    return page


def _why(session: Session, why: str) -> str:
    """The reason of the plan, the id of the leader in it by its name."""
    leader = session.diagnosis.leader
    return why.replace(leader, cause_name(session.knowledge, leader), 1)


def _add_questions(page: Page, session: Session, questions: Sequence[Proposal], numbers: bool) -> None:
    if questions:
        page.title("Ask these now")
    for place, question in enumerate(questions, start=1):
        entry = asked(session.knowledge, question.id)
        page.say(entry.question, 1, f"{place}.")
        words: Mapping[str, str] = entry.words if isinstance(entry, Finding) else {}
        answers = (f"{entry.id}={state}" + (f" ({words[state]})" if state in words else "") for state in entry.states)
        page.say(f"{tells(question.gain_bits)}{figures(question, numbers)} - record: {' | '.join(answers)}", 4)


def _add_others(page: Page, session: Session, others: Sequence[Proposal], numbers: bool) -> None:
    if others:
        page.title("Or")
    for test in others:
        page.say(f"{test.name} ({test.id}): {told_in_brief(session, test)}{figures(test, numbers)}", 2, "-")


def _add_locked(page: Page, ranking: Ranking) -> None:
    if ranking.locked:
        page.title("Locked as things stand")
    for test in ranking.locked[:MOST_LOCKED]:
        page.say(f"{test.name} ({test.id}): {test.why} Way out: {test.way_out}", 2, "-")
    if len(ranking.locked) > MOST_LOCKED:
        page.say(f"and {len(ranking.locked) - MOST_LOCKED} more", 2, "-")


def _add_actions(page: Page, session: Session, numbers: bool) -> None:
    """Repair and see, once it costs less than a good test would save, or as soon as testing may stop."""
    first = session.actions[0]
    if session.ranking.stop.advised and first.kind != "end":
        page.title("Or repair and see")
        figures = f" [expected {first.expected_cost:.0f} in all]" if numbers else ""
        page.say(f"{first.name} ({first.id}): helps {chance(first.probability)}, {_takes(first)}{figures}", 2, "-")
        for caution in first.cautions:
            page.say(caution, 4, "!")
    elif session.ranking.stop.advised:
        page.title("Or end it")
        page.say("Going on is expected to cost more than ending it at your price (diag settings ending=...).", 2)


def _takes(action: Action) -> str:
    return f"{duration(action.minutes)}, {money(action.money)}"
