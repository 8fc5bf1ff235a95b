"""What may stand behind each key of an entry: a form turns a node into the value, or says what is wrong."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import get_args

from diag.case.entry import UNKNOWN, Changed, HowWell
from diag.case.scalar import as_told
from diag.text import ListNode, MapNode, Mark, Node, TextNode, kind_of

_NUMBER = re.compile(r"[1-9][0-9]{0,8}")
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", re.ASCII)


@dataclass(frozen=True, slots=True)
class Wrong:
    """A value that cannot be taken: where, what was expected, what to do."""

    mark: Mark
    message: str
    hint: str = ""


Form = Callable[[Node], object]


def text(node: Node) -> str | Wrong:
    """Any text."""
    if not isinstance(node, TextNode):
        return Wrong(node.mark, f"text is expected, here is {kind_of(node)}.", "Put quotes around it.")
    return as_told(node.value)


def number(node: Node) -> int | Wrong:
    """The number of an entry, from 1."""
    if isinstance(node, TextNode) and _NUMBER.fullmatch(node.value):
        return int(node.value)
    return Wrong(node.mark, "the number of an entry is expected.", "Write a whole number from 1 on.")


def flag(node: Node) -> bool | Wrong:
    """``yes`` or ``no``."""
    word = node.value if isinstance(node, TextNode) else ""
    if word in ("yes", "no"):
        return word == "yes"
    return Wrong(node.mark, "yes or no is expected.", "Write yes or no.")


def flag_or_unknown(node: Node) -> bool | Wrong | None:
    """``yes``, ``no`` or ``unknown`` (None)."""
    if isinstance(node, TextNode) and node.value == UNKNOWN:
        return None
    told = flag(node)
    if isinstance(told, Wrong):
        return Wrong(told.mark, "yes, no or unknown is expected.", "Write one of them.")
    return told


def words(node: Node) -> tuple[str, ...] | Wrong:
    """A list of words; one word alone is let pass."""
    if isinstance(node, TextNode):
        return (as_told(node.value),)
    if not isinstance(node, ListNode):
        return Wrong(node.mark, f"a list is expected, here is {kind_of(node)}.", "Write [one, two].")
    told = [text(item) for item in node.items]
    wrong = next((item for item in told if isinstance(item, Wrong)), None)
    return wrong or tuple(item for item in told if isinstance(item, str))


def flags(node: Node) -> Mapping[str, bool] | Wrong:
    """A map of ids to yes or no."""
    if not isinstance(node, MapNode):
        return Wrong(node.mark, f"a map is expected, here is {kind_of(node)}.", "Write {ID: yes, ID: no}.")
    told = {as_told(key.value): flag(value) for key, value in node.items}
    wrong = next((value for value in told.values() if isinstance(value, Wrong)), None)
    return wrong or {key: value for key, value in told.items() if isinstance(value, bool)}


def time(node: Node) -> str | Wrong:
    """A time in UTC, ISO 8601 with seconds."""
    if isinstance(node, TextNode) and _TIME.fullmatch(node.value) and _exists(node.value):
        return node.value
    return Wrong(node.mark, "a time in UTC is expected.", "Write it like 2024-05-31T16:20:00Z.")


def one_of(known: tuple[str, ...]) -> Form:
    """The form that takes one of the words."""

    def word(node: Node) -> str | Wrong:
        if isinstance(node, TextNode) and node.value in known:
            return node.value
        return Wrong(node.mark, f"one of {', '.join(known)} is expected.", "Write one of these words.")

    return word


FORMS: Mapping[str, Form] = {
    "entry": number,
    "time": time,
    "instead": number,
    "opened": flags,
    "complaint": flag,
    "when": words,
    "fitted": flag_or_unknown,
    "undo": number,
    "repair": words,
    "how_well": one_of(get_args(HowWell)),
    "disturbed": words,
    "good": words,
    "before_case": flag,
    "changed": one_of(get_args(Changed)),
    "reached": flag,
    "followed": words,
    "absent": words,
}


def read_value(key: str, node: Node) -> object:
    """The value of ``key``, or a Wrong. A key that is not in FORMS holds text."""
    return FORMS.get(key, text)(node)


def _exists(told: str) -> bool:
    try:
        datetime.fromisoformat(told)
    except ValueError:
        return False
    return True
