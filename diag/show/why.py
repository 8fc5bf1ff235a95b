"""Why a cause is likely or not, in a few sentences that can be read aloud."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from diag.explain.weight import Weight
from diag.explain.why import Turn, Why
from diag.session import Session
from diag.show.as_json import plain
from diag.show.names import ADVICE, add_standing, asked, cause_name, word
from diag.show.page import Page
from diag.show.weights import FELT, spoken, weights_data
from diag.show.words import chance, likelihood, per_cent

SPOKEN = 3  # more than three reasons nobody listens to


def why_data(session: Session, answer: Why) -> dict[str, Any]:
    """The fields of ``diag why --json``."""
    return {
        "file": session.case.file,
        "id": answer.cause,
        "name": cause_name(session.knowledge, answer.cause),
        "probability": answer.probability,
        "leader": answer.leader,
        "for": weights_data(session, answer.raised),
        "against": weights_data(session, answer.lowered),
        "would_turn": plain(answer.would_turn),
    }


def why_page(session: Session, answer: Why, numbers: bool) -> Page:
    """How likely, what speaks for and against it, what would turn it."""
    page = Page(imperial=session.settings.imperial)
    page.title(f"Why {cause_name(session.knowledge, answer.cause)}? {session.case.vehicle} ({session.case.file})")
    add_standing(page, session)
    page.say(_standing(session, answer, numbers))
    page.say(_reasons(session, "For it", answer.raised, numbers))
    page.say(_reasons(session, "Against it", answer.lowered, numbers))
    page.say(_turning(session, answer, numbers))
    page.blank()
    page.say(ADVICE)
    return page


def _standing(session: Session, answer: Why, numbers: bool) -> str:
    figure = f" [{per_cent(answer.probability)}]" if numbers else ""
    place = "It leads the list."
    if answer.leader != answer.cause:
        place = f"The list is led by: {cause_name(session.knowledge, answer.leader)}."
    name = cause_name(session.knowledge, answer.cause)
    return f"{name}: {likelihood(answer.probability)}, {chance(answer.probability)}{figure}. {place}"


def _reasons(session: Session, label: str, weights: Sequence[Weight], numbers: bool) -> str:
    felt = [w for w in weights if numbers or abs(w.decibans) >= FELT]
    if not felt:
        return f"{label}: nothing of weight that was recorded."
    kept = felt if numbers else felt[:SPOKEN]
    more = f"; and {len(felt) - len(kept)} more" if len(felt) > len(kept) else ""
    return f"{label}: {'; '.join(spoken(session, w, numbers) for w in kept)}{more}."


def _turning(session: Session, answer: Why, numbers: bool) -> str:
    turn = answer.would_turn
    if turn is None:
        other = "put another cause first" if answer.leader == answer.cause else "put it first"
        return f"No single observation that is still open would {other}."
    base = session.knowledge
    figure = f" [{per_cent(turn.probability)} -> {per_cent(turn.leader_probability)}]" if numbers else ""
    seen = f"{asked(base, turn.finding).name}: {word(base, turn.finding, turn.state)}"
    first = "it" if turn.leader == answer.cause else cause_name(base, turn.leader)
    comes = f"comes {chance(turn.probability)}"
    return f"What would turn it: {seen} ({comes}); then {first} would lead{figure}. {_by(session, turn)}"


def _by(session: Session, turn: Turn) -> str:
    """How the observation is made; how a test is done, with its cautions, is in its own entry."""
    tests = [test for test in turn.by if test in session.knowledge.tests]
    if not tests:
        return f"Ask: {asked(session.knowledge, turn.finding).question}"
    return f"It is seen by: {session.knowledge.tests[tests[0]].name} (how, with its cautions: diag show {tests[0]})."
