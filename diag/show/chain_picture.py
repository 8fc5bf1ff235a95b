"""The course of things as a picture: what happens in one column, what was seen of it beside. Only lengths here."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import wrap

from diag.explain.course import Course
from diag.knowledge.types import Knowledge
from diag.show.names import cause_name, word

# Lengths in units of the picture; its width is that of a telephone, so that words stay readable there.
WIDTH = 374.0
GUTTER, LEFT_WIDTH, CHANNEL, RIGHT_WIDTH = 26.0, 150.0, 28.0, 168.0
LEFT_LETTERS, RIGHT_LETTERS = 19, 22  # as many as a line of a box holds
LINE_HEIGHT, HEAD, GAP, STACK_GAP = 16.0, 26.0, 24.0, 8.0
LANES = 3  # lines side by side in the gutter and in the channel, before they share a place


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

    @property
    def middle(self) -> float:
        """The height at which lines meet its sides."""
        return self.y + self.height / 2


@dataclass(frozen=True, slots=True)
class Arrow:
    """A line over its corners, (x, y) each; the last one is its tip."""

    parent: str
    child: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """``words`` tell the same as the picture, a sentence an arrow."""

    width: float
    height: float
    boxes: tuple[Box, ...]
    arrows: tuple[Arrow, ...]
    words: tuple[str, ...]


def picture(knowledge: Knowledge, course: Course) -> Picture:
    """The layout of a course."""
    names = {id: _name(knowledge, course, id) for id in course.states}
    seen = {id: _last_parent(course, id) for id in course.states if _entry(id) in knowledge.findings}
    boxes: dict[str, Box] = {}
    y = 2.0
    for id in course.states:  # parents first
        if id not in seen:
            beside = [finding for finding, parent in seen.items() if parent == id]
            y = _lay_row(knowledge, names, id, beside, y, boxes)
    spine = [id for id in course.states if id not in seen]
    told = tuple(f"{names[parent]} leads to {names[child]}" for parent, child in course.links)
    return Picture(WIDTH, y - GAP + 2, tuple(boxes.values()), _arrows(course, boxes, spine), told)


def _lay_row(
    knowledge: Knowledge, names: dict[str, str], id: str, beside: list[str], y: float, boxes: dict[str, Box]
) -> float:
    """One thing that happens, with what was seen of it beside; returns where the next row begins."""
    boxes[id] = _box(id, _kind(knowledge, id), names[id], LEFT_LETTERS, GUTTER, y, LEFT_WIDTH)
    below = y
    for finding in beside:
        box = _box(finding, "seen", names[finding], RIGHT_LETTERS, GUTTER + LEFT_WIDTH + CHANNEL, below, RIGHT_WIDTH)
        boxes[finding] = box
        below += box.height + STACK_GAP
    return max(y + boxes[id].height, below - STACK_GAP) + GAP


def _box(id: str, kind: str, name: str, letters: int, x: float, y: float, width: float) -> Box:
    lines = tuple(wrap(name, letters)) or (name,)
    return Box(id, kind, lines, x, y, width, HEAD + LINE_HEIGHT * len(lines))


def _arrows(course: Course, boxes: dict[str, Box], spine: list[str]) -> tuple[Arrow, ...]:
    found, jumps = [], 0
    for parent, child in course.links:
        above, below = boxes[parent], boxes[child]
        if child not in spine:
            found.append(Arrow(parent, child, _across(above, below, spine.index(parent))))
        elif spine.index(child) == spine.index(parent) + 1:
            found.append(Arrow(parent, child, _down(above, below)))
        else:
            found.append(Arrow(parent, child, _round(above, below, jumps)))
            jumps += 1
    return tuple(found)


def _down(above: Box, below: Box) -> tuple[tuple[float, float], ...]:
    x = above.x + above.width / 2
    return (x, above.y + above.height), (x, below.y)


def _across(left: Box, right: Box, lane: int) -> tuple[tuple[float, float], ...]:
    """From the side of what happens to the side of what was seen, through the channel between the columns."""
    edge = left.x + left.width
    x = edge + 6.0 + 4.0 * (lane % LANES)
    return (edge, left.middle), (x, left.middle), (x, right.middle), (right.x, right.middle)


def _round(above: Box, below: Box, lane: int) -> tuple[tuple[float, float], ...]:
    """Past the boxes between, through the gutter at the left."""
    x = GUTTER - 10.0 - 6.0 * (lane % LANES)
    return (above.x, above.middle), (x, above.middle), (x, below.middle), (below.x, below.middle)


def _last_parent(course: Course, id: str) -> str:
    """The last of what leads to the finding ``id``, beside which it stands."""
    order = list(course.states)
    return max((parent for parent, child in course.links if child == id), key=order.index)


def _kind(knowledge: Knowledge, id: str) -> str:
    effect = knowledge.effects.get(_entry(id))
    return effect.kind if effect else "cause"


def _entry(id: str) -> str:
    """The entry of a node; in later stages its name has the stage behind it."""
    return id.partition("@")[0]


def _name(knowledge: Knowledge, course: Course, id: str) -> str:
    """The name, with the state where it is more than there or not there."""
    entry, state = _entry(id), course.states[id]
    known = knowledge.effects.get(entry) or knowledge.findings.get(entry)
    if known is None:
        return cause_name(knowledge, entry)
    told = word(knowledge, entry, state)
    return known.name if told == "yes" else f"{known.name}: {told}"
