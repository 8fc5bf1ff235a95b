"""Where the numbers on a sheet come from: the sources that the entries on it name, and how well all is known."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from diag.knowledge.lookup import find_entry
from diag.knowledge.types import GRADES, Knowledge
from diag.knowledge.walk import numbers
from diag.session import Session
from diag.show.as_json import plain

_KNOWN_AS = {
    "published": "seen in a published source",
    "computed": "worked out",
    "common_practice": "rules of the trade",
    "from_memory": "from memory of a standard or textbook",
    "judgement": "estimates",
}
_WORD = re.compile(r"[a-z0-9_]+")


@dataclass(frozen=True, slots=True)
class Source:
    """A published source; ``where`` is the place in it."""

    id: str
    name: str
    where: str


def sources(session: Session, ids: Iterable[str], told: Any) -> tuple[Source, ...]:
    """The sources that the numbers of ``ids`` and of the recorded findings name, and those cited in ``told``."""
    knowledge = session.knowledge
    recorded = {look.finding for look in (*session.observations.looks, *session.observations.history)}
    entries = [found[1] for id in (*sorted(recorded), *ids) if (found := find_entry(knowledge, id))]
    named = {word for entry in entries for word in _words(plain(entry))} | set(_words(told))
    return tuple(
        Source(id, knowledge.references[id].name, knowledge.references[id].where)
        for id in sorted(named)
        if id in knowledge.references
    )


def _words(told: Any) -> Iterator[str]:
    """Every word of every text, however deep; a reference is one wherever it stands."""
    if isinstance(told, dict):
        for value in told.values():
            yield from _words(value)
    elif isinstance(told, list):
        for value in told:
            yield from _words(value)
    elif isinstance(told, str):
        yield from _WORD.findall(told)


def grades_in_words(knowledge: Knowledge) -> str:
    """How many of the numbers of the base are known how well."""
    graded: list[str] = [number.grade for number, _ in numbers(knowledge)]
    counted = [f"{graded.count(grade)} {_KNOWN_AS[grade]}" for grade in GRADES if grade in graded]
    return f"Of the {len(graded)} numbers of the knowledge base: {', '.join(counted)}."
