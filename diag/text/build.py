"""YAML events into nodes, one by one; limits are looked at before anything is stored."""

from __future__ import annotations

from typing import Any

from yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
    StreamEndEvent,
)

from diag.text.mark import Mark
from diag.text.node import ListNode, MapNode, Node, TextNode
from diag.text.problem import Problem
from diag.text.unseen import unseen_character, unseen_problem

MAX_NODES = 200_000
MAX_DEPTH = 40


class _Stop(Exception):
    """Nothing further may be read: a limit is passed or a second document begins."""


class _Open:
    """A list or map that is being read; ``key`` is the key that waits for its value."""

    __slots__ = ("column", "is_map", "items", "key", "line", "seen")

    def __init__(self, is_map: bool, line: int, column: int) -> None:
        self.is_map = is_map
        self.items: list[Any] = []
        self.key: TextNode | None = None
        self.line = line
        self.column = column
        self.seen: dict[str, TextNode] = {}


class Builder:
    """Takes the events one by one; limits are looked at before anything is stored."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []
        self.root: Node | None = None
        self.stack: list[_Open] = []
        self.count = 0
        self.documents = 0

    def run(self, loader: Any) -> None:
        """Reads all events of ``loader``; yaml.YAMLError passes through."""
        take = {
            ScalarEvent: self._scalar,
            MappingStartEvent: self._start,
            SequenceStartEvent: self._start,
            MappingEndEvent: self._end,
            SequenceEndEvent: self._end,
            AliasEvent: self._alias,
            DocumentStartEvent: self._document,
        }
        next_event = loader.get_event
        try:
            while (kind := type(event := next_event())) is not StreamEndEvent:
                if kind in take:
                    take[kind](event)
        except _Stop:
            return

    def _scalar(self, event: Any) -> None:
        self._count(event)
        start = event.start_mark
        value = event.value
        node = TextNode(value, self.file, start.line + 1, start.column + 1, bool(event.style))
        if event.anchor is not None or event.tag is not None:
            self._refuse_properties(event)
        if event.style == '"' and (unseen := unseen_character(value)):
            self.problems.append(unseen_problem(node.mark, unseen))
        self._place(node)

    def _start(self, event: Any) -> None:
        self._count(event)
        if event.anchor is not None or event.tag is not None:
            self._refuse_properties(event)
        if len(self.stack) >= MAX_DEPTH:
            self.problems.append(too_deep(self._mark(event)))
            raise _Stop
        start = event.start_mark
        self.stack.append(_Open(type(event) is MappingStartEvent, start.line + 1, start.column + 1))

    def _end(self, _: Any) -> None:
        done = self.stack.pop()
        make = MapNode if done.is_map else ListNode
        self._place(make(tuple(done.items), self.file, done.line, done.column))

    def _place(self, node: Node) -> None:
        if not self.stack:
            self.root = node
            return
        top = self.stack[-1]
        if not top.is_map:
            top.items.append(node)
        elif top.key is None:
            top.key = self._key(top, node)
        else:
            top.items.append((top.key, node))
            top.key = None

    def _key(self, top: _Open, node: Node) -> TextNode:
        if not isinstance(node, TextNode):
            hint = "Write a plain word before the colon."
            self.problems.append(Problem(node.mark, "key-not-text", "a key must be text.", hint))
            return TextNode("", self.file, node.line, node.column)
        first = top.seen.setdefault(node.value, node)
        if first is not node:
            message = f"the key {node.value!r} stands twice in one map, first in line {first.line}."
            self.problems.append(Problem(node.mark, "duplicate-key", message, "Keep one of the two."))
        return node

    def _alias(self, event: Any) -> None:
        self._count(event)
        self._refuse(event, "alias", f"the alias *{event.anchor} is refused: it hides what is meant.")
        start = event.start_mark
        self._place(TextNode("", self.file, start.line + 1, start.column + 1))

    def _document(self, event: Any) -> None:
        self.documents += 1
        if self.documents > 1:
            hint = "Keep one document in a file; take out the line of dashes."
            self._stop(event, "several-documents", "a second document begins here.", hint)

    def _refuse_properties(self, event: Any) -> None:
        if event.anchor is not None:
            self._refuse(event, "anchor", f"the anchor &{event.anchor} is refused: it hides what is meant.")
        if event.tag is not None:
            hint = "Take the tag out; quote the text if it begins with an exclamation mark."
            self._refuse(event, "tag", f"the tag {event.tag} is refused: what a text means is fixed here.", hint)

    def _refuse(self, event: Any, code: str, message: str, hint: str = "Write the value out in full.") -> None:
        self.problems.append(Problem(self._mark(event), code, message, hint))

    def _count(self, event: Any) -> None:
        self.count += 1
        if self.count > MAX_NODES:
            self._stop(event, "too-many-nodes", f"more than {MAX_NODES} values.", "Split the file.")

    def _stop(self, event: Any, code: str, message: str, hint: str) -> None:
        self._refuse(event, code, message, hint)
        raise _Stop

    def _mark(self, event: Any) -> Mark:
        start = event.start_mark
        return Mark(self.file, start.line + 1, start.column + 1)


def too_deep(mark: Mark) -> Problem:
    """The problem that more levels stand inside each other than anybody can read."""
    return Problem(mark, "too-deep", f"more than {MAX_DEPTH} levels inside each other.", "Make it flatter.")
