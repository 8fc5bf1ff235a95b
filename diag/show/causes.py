"""The list of likely causes, for people and for programs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from diag.explain import LikelyCause
from diag.network.case_network import UNLISTED_ID
from diag.network.now import ALL_ALONG, BROUGHT_IN, LEFT_IN, NEVER_REPAIRED, REPAIR_FAILED
from diag.session import Session
from diag.show.as_json import plain
from diag.show.names import ADVICE, add_standing, cause_name
from diag.show.page import Page
from diag.show.readings import add_readings, readings_data
from diag.show.words import chance, likelihood, odds, per_cent

FIRST = 5  # more than five suspicions nobody keeps in mind
STANDS_OUT = 0.25  # below it a word or a bet would make more of a cause than the evidence does
MUCH_IDLE = 0.2  # design of record: from here on it is said in words
LIKELY_DAMAGE = 0.15  # below it damage is rarer than "possible"
MOST_DAMAGE = 5
SECOND_WAY = 0.2  # below this share of a cause another way to it is not named

FROM_WHERE = {
    NEVER_REPAIRED: "never repaired",
    REPAIR_FAILED: "its repair failed",
    BROUGHT_IN: "brought in by the repair",
    ALL_ALONG: "there all along beside the first cause",
    LEFT_IN: "damage left in",
}


def causes_data(session: Session) -> dict[str, Any]:
    """The fields of ``diag causes --json``."""
    answer = plain(session.causes)
    for cause in answer["causes"]:
        if cause["id"] != UNLISTED_ID:
            del cause["by_mechanism"]
        if session.observations.stage == 1:
            del cause["why"]
    for present in (*answer["also_present"], *answer["damage"], *answer["mechanisms"]):
        if not present["degrees"]:
            del present["degrees"]
    groups = plain(session.twins)
    more = {"groups": groups, "readings": readings_data(session.readings), "confirmed": session.observations.confirmed}
    return {"file": session.case.file, "stage": session.observations.stage, **answer, **more}


def causes_page(session: Session, numbers: bool) -> Page:
    """The likeliest causes in words, what cannot be told apart, what stays unexplained, what may be damaged."""
    page = Page(imperial=session.settings.imperial)
    page.title(f"Likely causes: {session.case.vehicle} ({session.case.file})")
    add_standing(page, session)
    if session.observations.stage > 1:
        page.say("After the repair: what is behind it now.", 1)
    for place, cause in enumerate(session.causes.causes[:FIRST], start=1):
        _add_cause(page, session, place, cause, numbers)
    if session.causes.causes[0].probability < STANDS_OUT:
        page.say("No cause stands out yet.", 1)
    _add_rest(page, session.causes.causes[FIRST:], numbers)
    _add_groups(page, session)
    _add_doubts(page, session)
    _add_damage(page, session, numbers)
    add_readings(page, session.knowledge, session.readings)
    if numbers:
        _add_numbers(page, session)
    page.blank()
    page.say("What to do next: diag next. " + ADVICE)
    return page


def _add_cause(page: Page, session: Session, place: int, cause: LikelyCause, numbers: bool) -> None:
    p = cause.probability
    figure = f" [{per_cent(p)}]" if numbers else ""
    words = f"{likelihood(p)}: {chance(p)}, {odds(p)}" if p >= STANDS_OUT else chance(p)
    page.say(f"{cause.name} ({cause.id}) - {words}{figure}", 1, f"{place}.")
    if cause.why:
        page.say(from_where(cause.why), 4)
    if cause.by_mechanism:
        likeliest = sorted(cause.by_mechanism.items(), key=lambda part: (-part[1], part[0]))[:2]
        names = " or ".join(session.knowledge.effects[effect].name for effect, _ in likeliest)
        page.say(f"most likely one that makes: {names}", 4)


def from_where(why: Mapping[str, float]) -> str:
    """From where a cause is there after a repair, in words; a second way only where it matters."""
    total = sum(why.values())
    felt = sorted((w for w in why if why[w] >= total * SECOND_WAY), key=lambda w: (-why[w], w))
    return ", or ".join(FROM_WHERE[w] for w in felt)


def _add_rest(page: Page, rest: Sequence[LikelyCause], numbers: bool) -> None:
    share = sum(cause.probability for cause in rest)
    unlisted = next((cause for cause in rest if cause.id == UNLISTED_ID), None)
    figure = f" [{per_cent(share)}]" if numbers else ""
    page.say(f"All {len(rest)} others together: {chance(share)}{figure}.", 1)
    if unlisted:
        figure = f" [{per_cent(unlisted.probability)}]" if numbers else ""
        page.say(f"Of them {unlisted.name} ({UNLISTED_ID}): {chance(unlisted.probability)}{figure}.", 1)


def _add_groups(page: Page, session: Session) -> None:
    if session.twins:
        page.title("These cannot be told apart by any open test")
        for group in session.twins:
            page.say(", ".join(cause_name(session.knowledge, cause) for cause in group), 2, "-")


def _add_doubts(page: Page, session: Session) -> None:
    answer = session.causes
    if answer.idle_share > MUCH_IDLE or answer.unexplained:
        page.title("With care")
    if answer.idle_share > MUCH_IDLE:
        page.say(
            f"{chance(answer.idle_share).capitalize()} of this answer rests on causes that explain nothing of what "
            "was recorded. Look for more before acting on it.",
            2,
            "-",
        )
    for finding in answer.unexplained:
        name = session.knowledge.findings[finding].name
        page.say(f"Nothing likely explains: {name} ({finding}). Look again, or it has a cause of its own.", 2, "-")


def _add_damage(page: Page, session: Session, numbers: bool) -> None:
    expected = [damage for damage in session.causes.damage if damage.probability >= LIKELY_DAMAGE][:MOST_DAMAGE]
    if expected:
        page.title("Damage to expect")
    for damage in expected:
        figure = f" [{per_cent(damage.probability)}]" if numbers else ""
        page.say(f"{damage.name} ({damage.id}): {chance(damage.probability)}{figure}", 2, "-")


def _add_numbers(page: Page, session: Session) -> None:
    answer = session.causes
    page.title("Numbers")
    page.say(f"log2 of the probability of all that was recorded: {answer.log2_evidence:.2f}", 2)
    page.say(f"idle share: {per_cent(answer.idle_share)}", 2)
    page.say(f"method: {answer.method}; mass left out: {_left_out(answer.neglected)}", 2)


def _left_out(neglected: float | None) -> str:
    return "no bound; about 0.01 where it was compared" if neglected is None else f"{neglected:g}"
