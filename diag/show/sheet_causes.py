"""The causes on the sheet: the likeliest each with its reason in a sentence, then all others that are still open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diag.explain.causes import LikelyCause
from diag.network.case_network import NOTHING_WRONG, UNLISTED_ID
from diag.session import Session
from diag.show.weights import FELT, spoken
from diag.show.why import SPOKEN
from diag.show.words import NEVER, chance

SUSPECTS = 5  # more than five suspicions nobody keeps in mind


@dataclass(frozen=True, slots=True)
class Suspect:
    """A likely cause. ``share`` is from 0 to 100, for the length of its bar; ``chance`` says it in words."""

    id: str
    name: str
    what: str
    chance: str
    share: int
    reason: str


@dataclass(frozen=True, slots=True)
class OtherCause:
    """A cause that is still open behind the likeliest ones."""

    id: str
    name: str
    chance: str


def suspects(session: Session) -> tuple[Suspect, ...]:
    """The likeliest causes."""
    return tuple(_suspect(session, cause) for cause in open_causes(session)[:SUSPECTS])


def others(session: Session) -> tuple[OtherCause, ...]:
    """The open causes after the likeliest ones."""
    return tuple(
        OtherCause(cause.id, cause.name, chance(cause.probability)) for cause in open_causes(session)[SUSPECTS:]
    )


def open_causes(session: Session) -> Sequence[LikelyCause]:
    """Causes that what was found does not rule out: those that are not below "less than 1 in 100"."""
    return [cause for cause in session.causes.causes if cause.probability >= NEVER]


def _suspect(session: Session, cause: LikelyCause) -> Suspect:
    known = session.knowledge.causes.get(cause.id)
    return Suspect(
        id=cause.id,
        name=cause.name,
        what=known.what if known else "",
        chance=chance(cause.probability),
        share=max(round(100 * cause.probability), 1),
        reason=reason(session, cause.id),
    )


def reason(session: Session, cause: str) -> str:
    """What speaks for a cause and against it, in a sentence or two."""
    if cause == UNLISTED_ID:
        return "It stays open because no list is complete; it rises as the listed causes are ruled out."
    answered = session.why(cause)
    told = [
        f"Speaks {side} it: {'; '.join(spoken(session, weight, numbers=False) for weight in heard)}."
        for side, weights in (("for", answered.raised), ("against", answered.lowered))
        if (heard := [weight for weight in weights if abs(weight.decibans) >= FELT][:SPOKEN])
    ]
    return " ".join(told) or f"Nothing recorded speaks for it or against it; it is {_how_common(session, cause)}."


def _how_common(session: Session, cause: str) -> str:
    if cause == NOTHING_WRONG:
        return "kept open as in every case"
    place = session.diagnosis.states.index(cause)
    return f"as common as it is among vehicles brought in: {chance(float(session.diagnosis.case.prior[place]))}"
