"""The causes on the sheet: the likeliest each with its reason in a sentence, then all others that are still open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diag.explain.causes import LikelyCause
from diag.explain.reasons import Weighed
from diag.network.case_network import NOTHING_WRONG, UNLISTED_ID
from diag.session import Session
from diag.show.names import asked, word
from diag.show.words import NEVER, chance

SUSPECTS = 5  # more than five suspicions nobody keeps in mind
SPEAKS = 1.0  # decibans below which an answer moves nothing that a person would notice
STRONGLY = 6.0  # decibans: four times as likely with the cause as without
MOST_REASONS = 3


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
    weighed = session.reasons.get(cause, ())
    speaks = [w for w in weighed if w.decibans >= SPEAKS][:MOST_REASONS]
    speaks_against = [w for w in reversed(weighed) if w.decibans <= -SPEAKS][:MOST_REASONS]
    if not speaks and not speaks_against:
        return f"Nothing recorded speaks for it or against it; it is {_how_common(session, cause)}."
    told = [
        f"{_strongly(heard[0])} {side} it: {_listed(session, heard)}."
        for side, heard in (("for", speaks), ("against", speaks_against))
        if heard
    ]
    return " ".join(told)


def _strongly(heaviest: Weighed) -> str:
    return "Speaks strongly" if abs(heaviest.decibans) >= STRONGLY else "Speaks"


def _how_common(session: Session, cause: str) -> str:
    if cause == NOTHING_WRONG:
        return "kept open as in every case"
    place = session.diagnosis.case.states.index(cause)
    return f"as common as it is among vehicles brought in: {chance(float(session.diagnosis.case.prior[place]))}"


def _listed(session: Session, weighed: Sequence[Weighed]) -> str:
    return "; ".join(_said(session, one.finding) for one in weighed)


def _said(session: Session, finding: str) -> str:
    """The finding with the answer it had: ``fan stands still although hot (yes)``."""
    entry = asked(session.knowledge, finding)
    looks = [
        look
        for look in (*session.observations.looks, *session.observations.history)
        if look.finding == finding and look.likelihood
    ]
    told = looks[-1].likelihood if looks else None
    if told is None:
        return entry.name
    return f"{entry.name} ({word(session.knowledge, finding, entry.states[told.index(max(told))])})"
