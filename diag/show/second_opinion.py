"""What another engine says of the same case, beside ours."""

from __future__ import annotations

from typing import Any

from diag.session import Session
from diag.show.page import Page


def second_opinion_data(session: Session) -> dict[str, Any]:
    """Fields beside those of ``diag causes --json``."""
    answers = session.second_opinion()
    largest = max(abs(ours - other) for ours, other in answers.values())
    other = {state: probability for state, (_, probability) in answers.items()}
    return {"second_opinion": {"engine": "pgmpy", "largest_difference": largest, "probabilities": other}}


def second_opinion_page(session: Session) -> Page:
    """One line: how far the two are apart."""
    largest = second_opinion_data(session)["second_opinion"]["largest_difference"]
    page = Page()
    page.title("Second opinion")
    page.say(
        f"pgmpy, from the exported network alone, gives the same list; the largest difference of any probability is "
        f"{largest:.1e}."
        if largest < 1e-6
        else f"pgmpy, from the exported network alone, differs by {largest:.1e} in some probability. Trust neither."
    )
    return page
