"""The course of things as a picture: boxes in rows, the cause on top, and lines between them. Only lengths here."""

from __future__ import annotations

from dataclasses import dataclass

from diag.explain.course import Course
from diag.knowledge.types import Knowledge
from diag.show.names import cause_name, word

# Lengths in units of the picture; its width is that of a telephone, so that words stay readable there.
WIDTH = 372
BOX_WIDTH = 176
GAP = 12
LINE_HEIGHT = 16
ROW_GAP = 26
LETTERS = 23  # a line of a box holds about as many
IN_A_ROW = 2


@dataclass(frozen=True, slots=True)
class Box:
    """One thing in the picture; ``kind`` is told in words, so that nothing hangs on a colour."""

    id: str
    kind: str
    lines: tuple[str, ...]
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Arrow:
    """From the lower edge of one box to the upper edge of another."""

    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True, slots=True)
class Picture:
    """``words`` tell the same as the picture, a sentence an arrow."""

    width: float
    height: float
    boxes: tuple[Box, ...]
    arrows: tuple[Arrow, ...]
    words: tuple[str, ...]


def picture(knowledge: Knowledge, course: Course) -> Picture:
    """The layout of a course: every thing in the row below the last of what leads to it."""
    boxes: dict[str, Box] = {}
    y = 2.0
    for row in _rows(course):
        laid = [_box(knowledge, course, id, len(row)) for id in row]
        height = max(box.height for box in laid)
        left = (WIDTH - sum(box.width for box in laid) - GAP * (len(laid) - 1)) / 2
        for box in laid:
            boxes[box.id] = Box(box.id, box.kind, box.lines, left, y, box.width, height)
            left += box.width + GAP
        y += height + ROW_GAP
    arrows = tuple(_arrow(boxes[parent], boxes[child]) for parent, child in course.links)
    names = {id: _name(knowledge, course, id) for id in course.states}
    told = [f"{names[parent]} leads to {names[child]}" for parent, child in course.links]
    return Picture(WIDTH, y - ROW_GAP + 2, tuple(boxes.values()), arrows, tuple(told))


def _rows(course: Course) -> list[list[str]]:
    depth: dict[str, int] = {}
    for id in course.states:  # parents first
        depth[id] = 1 + max((depth[parent] for parent, child in course.links if child == id), default=-1)
    rows: list[list[str]] = []
    for level in range(max(depth.values()) + 1):
        ids = [id for id in course.states if depth[id] == level]
        rows += [ids[start : start + IN_A_ROW] for start in range(0, len(ids), IN_A_ROW)]
    return rows


def _box(knowledge: Knowledge, course: Course, id: str, beside: int) -> Box:
    width = BOX_WIDTH if beside > 1 else BOX_WIDTH + 60
    entry = id.partition("@")[0]
    lines = _wrapped(_name(knowledge, course, id), LETTERS if beside > 1 else LETTERS + 9)
    return Box(id, _kind(knowledge, entry), lines, 0, 0, width, 26 + LINE_HEIGHT * len(lines))


def _kind(knowledge: Knowledge, id: str) -> str:
    if id in knowledge.findings:
        return "seen"
    return knowledge.effects[id].kind if id in knowledge.effects else "cause"


def _name(knowledge: Knowledge, course: Course, id: str) -> str:
    """The name, with the state where it is more than there or not there."""
    entry, state = id.partition("@")[0], course.states[id]
    known = knowledge.effects.get(entry) or knowledge.findings.get(entry)
    if known is None:
        return cause_name(knowledge, entry)
    told = word(knowledge, entry, state)
    return known.name if told == "yes" else f"{known.name}: {told}"


def _wrapped(text: str, letters: int) -> tuple[str, ...]:
    from textwrap import wrap

    return tuple(wrap(text, letters)) or (text,)


def _arrow(above: Box, below: Box) -> Arrow:
    """Straight down where the boxes overlap, else from middle to middle."""
    left, right = max(above.x, below.x), min(above.x + above.width, below.x + below.width)
    if right - left > 20:
        middle = (left + right) / 2
        return Arrow(middle, above.y + above.height, middle, below.y)
    return Arrow(above.x + above.width / 2, above.y + above.height, below.x + below.width / 2, below.y)
