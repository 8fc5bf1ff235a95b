"""How far an answer hangs on judgement, in words: who led how often, and which numbers matter most."""

from __future__ import annotations

from pathlib import PurePath
from typing import Any

from diag.explain.judgement import Judgement, Matter
from diag.session import Session
from diag.show.as_json import plain
from diag.show.names import cause_name, word
from diag.show.page import Page
from diag.show.words import chance, graded, per_cent

FIRST = 3


def judgement_data(session: Session, answer: Judgement) -> dict[str, Any]:
    """The fields under ``judgement``."""
    low, middle, high = answer.probability
    return {
        "id": answer.cause,
        "draws": answer.draws,
        "leads": [{"id": cause, "name": cause_name(session.knowledge, cause), "share": s} for cause, s in answer.leads],
        "probability": {"low": low, "middle": middle, "high": high},
        "decibans": answer.decibans,
        "numbers": [_matter_data(session, matter) for matter in answer.matter],
    }


def _matter_data(session: Session, matter: Matter) -> dict[str, Any]:
    mark = matter.number.mark
    return {
        "id": matter.path[1],
        "what": what(session, matter),
        **plain(matter.number),
        "file": mark.file,
        "line": mark.line,
        "decibans_at_low": matter.at_low,
        "decibans_at_high": matter.at_high,
    }


def add_judgement(page: Page, session: Session, answer: Judgement, numbers: bool) -> None:
    """Who leads in how many draws, how the probability moves, and the numbers that matter most with their source."""
    page.title(f"How far this hangs on judgement: {cause_name(session.knowledge, answer.cause)}")
    page.say(f"All estimates were moved within their ranges, {answer.draws} times.", 1)
    for cause, share in answer.leads[:FIRST]:
        figure = f" [{per_cent(share)}]" if numbers else ""
        page.say(f"{cause_name(session.knowledge, cause)} leads {chance(share)}{figure}", 2, "-")
    page.say(f"Nine times in ten its own chance is {_span(answer, numbers)}.", 1)
    page.say("These numbers move it most; put in your own by an overlay (--knowledge):", 1)
    for place, matter in enumerate(answer.matter, start=1):
        _add_matter(page, session, matter, place, numbers)


def _span(answer: Judgement, numbers: bool) -> str:
    low, _, high = answer.probability
    figure = f" [{per_cent(low)} to {per_cent(high)}]" if numbers else ""
    words = chance(low) if chance(low) == chance(high) else f"between {chance(low)} and {chance(high)}"
    return f"{words}{figure}"


def _add_matter(page: Page, session: Session, matter: Matter, place: int, numbers: bool) -> None:
    mark = matter.number.mark
    where = f"{PurePath(mark.file).name}:{mark.line}"
    ends = f" [{matter.at_low:+.1f} to {matter.at_high:+.1f} decibans]" if numbers else ""
    page.say(f"{what(session, matter)} ({matter.path[1]}): {graded(matter.number)}; {where}", 2, f"{place}.")
    better = "more" if matter.at_high > matter.at_low else "less"
    low, high = _odds(matter.at_low), _odds(matter.at_high)
    page.say(f"The higher, the {better} likely: {low} at its low end, {high} at its high end{ends}.", 5)


def _odds(decibans: float) -> str:
    odds = 10 ** (decibans / 10)
    return chance(odds / (1 + odds))


def what(session: Session, matter: Matter) -> str:
    """What a number is, by the names on the way to it."""
    base, path = session.knowledge, matter.path
    room, id, kind = str(path[0]), str(path[1]), str(path[2])
    if room == "model":
        return base.model[id].name
    if room == "fittings":
        return f"share of vehicles with: {base.fittings[id].name}"
    if matter.child:
        return f"how often '{_name(session, id)}' brings about: {_child(session, matter)}"
    if kind == "false_alarm":
        return f"how often one sees, with nothing behind it: {base.findings[id].name}: {word(base, id, str(path[3]))}"
    if room == "history":
        return _history(session, matter)
    return f"{_KINDS[kind]}: {_name(session, id)}"


_KINDS = {
    "weight": "share of cases that begin with",
    "residual": "share of cases from unlisted causes of",
    "leak": "how often this comes by itself",
    "inhibited_by": "how often something else stops",
}


def _history(session: Session, matter: Matter) -> str:
    fact = session.knowledge.history[str(matter.path[1])]
    if matter.path[2] == "base":
        return f"how common this is: {fact.name}"
    return f"how many times as common with '{cause_name(session.knowledge, str(matter.path[3]))}': {fact.name}"


def _child(session: Session, matter: Matter) -> str:
    base, state = session.knowledge, str(matter.path[-1])
    if matter.child in base.findings:
        return f"{base.findings[matter.child].name}: {word(base, matter.child, state)}"
    name = base.effects[matter.child].name
    return name if len(base.effects[matter.child].states) == 2 else f"{name}: {state.replace('_', ' ')}"


def _name(session: Session, id: str) -> str:
    effect = session.knowledge.effects.get(id)
    return effect.name if effect else cause_name(session.knowledge, id)
