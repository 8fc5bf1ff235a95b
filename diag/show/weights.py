"""Findings and what they weigh, in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from diag.explain.weight import Weight, told
from diag.session import Session
from diag.show.names import asked, word

# One deciban is about the least that a person can feel (Good 1950); 5 are 3 to 1, 10 are 10 to 1.
FELT = 1.0
_STRENGTHS = ((10.0, "strongly"), (5.0, "clearly"), (FELT, "a little"))


def strength(decibans: float) -> str:
    """How much a finding weighs, either way."""
    return next((words for least, words in _STRENGTHS if abs(decibans) >= least), "hardly")


def answer(session: Session, finding: str) -> str:
    """What was seen of a finding, the last look at it."""
    likelihood = told(session.observations)[finding][-1].likelihood
    assert likelihood is not None
    if min(likelihood) == max(likelihood):
        return "as read"  # by a named instrument: the look itself says no more than that there was one
    state = asked(session.knowledge, finding).states[likelihood.index(max(likelihood))]
    sure = sum(value > 0 for value in likelihood) == 1
    return word(session.knowledge, finding, state) + ("" if sure else " (not sure)")


def spoken(session: Session, weight: Weight, numbers: bool) -> str:
    """A finding, what was seen and how much that weighs: gauge: in the red (strongly)."""
    figure = f", {weight.decibans:+.1f} decibans" if numbers else ""
    name = asked(session.knowledge, weight.finding).name
    return f"{name}: {answer(session, weight.finding)} ({strength(weight.decibans)}{figure})"


def weights_data(session: Session, weights: Sequence[Weight]) -> list[dict[str, Any]]:
    """The same for programs."""
    return [
        {
            "finding": w.finding,
            "name": asked(session.knowledge, w.finding).name,
            "answer": answer(session, w.finding),
            "decibans": w.decibans,
        }
        for w in weights
    ]
