"""What readings were taken to mean, in words and for programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from diag.knowledge.types import Knowledge
from diag.show.as_json import plain
from diag.show.page import Page

if TYPE_CHECKING:
    from diag.explain.readings import Meant

_LITTLE = 1.5  # a factor below it is not worth a sentence


def readings_data(meant: Sequence[Meant]) -> list[dict[str, Any]]:
    """The field ``readings`` of several commands."""
    told: list[dict[str, Any]] = plain(list(meant))
    return told


def add_readings(page: Page, knowledge: Knowledge, meant: Sequence[Meant]) -> None:
    """One line for each finding that was read from an instrument; nothing where there is none."""
    if meant:
        page.title("What the readings were taken to mean")
    for one in meant:
        page.tell(f"{knowledge.findings[one.finding].name}: {meaning(knowledge, one)}", 2, "-")


def meaning(knowledge: Knowledge, one: Meant) -> str:
    """What the readings of one finding were taken as, and to what they point."""
    return f"{'; then '.join(one.taken_as)}. {_conclusion(knowledge, one)}"


def times(ratio: float) -> str:
    """A factor as one says it: about 30 times."""
    if ratio >= 1000:
        return "over 1000 times"
    digits = 1 if ratio < 100 else 2
    step = 10 ** (len(str(int(ratio))) - digits)
    return f"about {round(ratio / step) * step:g} times"


def _conclusion(knowledge: Knowledge, one: Meant) -> str:
    if one.points_to and one.points_to[1] >= _LITTLE:
        return f"{times(one.points_to[1]).capitalize()} likelier under: {_name(knowledge, one.points_to[0])}."
    if one.against and one.against[1] <= 1 / _LITTLE:
        return f"{times(1 / one.against[1]).capitalize()} less likely under: {_name(knowledge, one.against[0])}."
    return "It hardly tells anything."


def _name(knowledge: Knowledge, id: str) -> str:
    entry = knowledge.causes.get(id) or knowledge.effects[id]
    return f"{entry.name} ({id})"
