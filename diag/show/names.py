"""What ids are called on the screen."""

from __future__ import annotations

from diag.case import NOT_FOUND
from diag.knowledge.types import Finding, HistoryFact, Knowledge
from diag.network.case_network import NOTHING_WRONG
from diag.network.children import UNLISTED
from diag.session import Session
from diag.show.page import Page

ADVICE = "The tool advises, the trade decides. Local codes and licensed practice come first."


def cause_name(knowledge: Knowledge, id: str) -> str:
    """A cause, a residual cause of one mechanism, or nothing wrong at all."""
    if id == NOTHING_WRONG:
        return "nothing wrong (false alarm)"
    if id in knowledge.causes or id in knowledge.effects:
        return (knowledge.causes.get(id) or knowledge.effects[id]).name
    mechanism = knowledge.effects.get(id.removeprefix(UNLISTED))
    return "a cause not listed here" + (f" ({mechanism.name})" if mechanism else "")


def asked(knowledge: Knowledge, id: str) -> Finding | HistoryFact:
    """The finding or the history fact with this id."""
    return knowledge.findings.get(id) or knowledge.history[id]


def name_of(knowledge: Knowledge, id: str) -> str:
    """A finding, a history fact, an effect or a cause."""
    known = knowledge.findings.get(id) or knowledge.history.get(id) or knowledge.effects.get(id)
    return known.name if known else cause_name(knowledge, id)


def word(knowledge: Knowledge, finding: str, state: str) -> str:
    """What a state is called on the screen."""
    known = knowledge.findings.get(finding)
    return (known.words.get(state) if known else None) or state.replace("_", " ")


def add_standing(page: Page, session: Session) -> None:
    """What must be known before the answer is read: the case is closed, or nobody said why it came in."""
    confirmed = session.observations.confirmed
    if confirmed is not None:
        name = cause_name(session.knowledge, confirmed) if confirmed != NOT_FOUND else "the cause was not found"
        page.say(f"This case is closed: {name}.")
    elif not any(look.complaint for look in session.observations.looks):
        page.say("No complaint is told yet: record what it came in for ('diag find WORDS' gives the id).")


def file_argument(session: Session) -> str:
    """The case file as one types it."""
    name = session.case.file
    return f'"{name}"' if " " in name else name
