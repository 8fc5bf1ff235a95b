"""What to ask and to test next: the whole lists for programs, a job card for people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from diag.knowledge.types import Finding
from diag.plan import Proposal
from diag.session import Session
from diag.show.as_json import plain
from diag.show.job_card import add_job_card, cautions, figures, told_in_brief
from diag.show.names import ADVICE, add_standing, asked, cause_name
from diag.show.page import Page
from diag.show.words import chance, tells

QUESTIONS = 4  # as many as are asked in one go
OTHERS = 3
MOST_LOCKED = 3
UNEXPLAINED = 2


def next_data(session: Session) -> dict[str, Any]:
    """The fields of ``diag next --json``."""
    ranking = session.ranking
    return {
        "file": session.case.file,
        "questions": [_proposal_data(question) for question in ranking.questions],
        "tests": [{**_proposal_data(test), **_test_data(session, test)} for test in ranking.tests],
        "locked": plain(ranking.locked),
        "actions": [],
        "stop": plain(ranking.stop),
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


def next_page(session: Session, numbers: bool) -> Page:
    """One column: who leads, ask these now, do this next, or these."""
    ranking = session.ranking
    page = Page()
    leader = session.causes.causes[0]
    page.title(f"{session.case.vehicle} ({session.case.file})")
    add_standing(page, session)
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
    _add_locked(page, session)
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


def _add_locked(page: Page, session: Session) -> None:
    locked = session.ranking.locked
    if locked:
        page.title("Locked as things stand")
    for test in locked[:MOST_LOCKED]:
        page.say(f"{test.name} ({test.id}): {test.why} Way out: {test.way_out}", 2, "-")
    if len(locked) > MOST_LOCKED:
        page.say(f"and {len(locked) - MOST_LOCKED} more", 2, "-")
