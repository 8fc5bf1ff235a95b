"""YAML text into nodes with places, or into problems: a careful subset of YAML, limits first.

Refused, because they surprise the reader or let a small file grow: anchors, aliases, tags, several
documents, duplicate keys, keys that are not text, characters nobody can see.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import yaml
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

MAX_BYTES = 4 * 1024 * 1024
MAX_NODES = 200_000
MAX_DEPTH = 40

# Everything but tab, line feed and characters that show; the marks that turn the direction of
# writing and the odd line ends are left out too, since they make a line look like another one.
_UNSEEN = re.compile(
    "[^\t\n\x20-\x7e\xa0-\u2027\u202f-\u2065\u206a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]"
)

_HINTS = {
    "mapping values are not allowed": "Put quotes around a text that contains ': '.",
    "did not find expected ',' or": "Put quotes around a text that contains a comma, a bracket or a brace.",
    "expected ',' or": "Put quotes around a text that contains a comma, a bracket or a brace.",
    "cannot start any token": "Indent with blanks, not with tabs; put quotes around a text that begins so.",
}
_GENERAL_HINT = "Look at this line and the one before it: indentation, quotes, brackets."

Read = tuple[Node | None, list[Problem]]


def yaml_engine() -> str:
    """Which reader of YAML is at work: ``libyaml`` (fast) or ``python`` (slow, the same answers)."""
    return "libyaml" if yaml.__with_libyaml__ else "python"


def _engine() -> Any:
    return yaml.CSafeLoader if yaml_engine() == "libyaml" else yaml.SafeLoader


def read(path: Path) -> Read:
    """The document in a file, as ``parse`` gives it; a file that cannot be read is a problem too."""
    data, problems = read_bytes(path)
    return (None, problems) if data is None else parse_bytes(data, path.as_posix())


def read_bytes(path: Path) -> tuple[bytes | None, list[Problem]]:
    """What is in a file, at most one byte more than the limit, or the problem that it cannot be read."""
    try:
        with path.open("rb") as stream:
            return stream.read(MAX_BYTES + 1), []
    except OSError as error:
        return None, [_unreadable(path, error)]


def parse_bytes(data: bytes, file: str) -> Read:
    """The document in ``data``, which must be UTF-8; Windows line ends and a byte order mark are let pass."""
    text, problems = decode(data, file)
    return (None, problems) if text is None else parse(text, file)


def decode(data: bytes, file: str) -> tuple[str | None, list[Problem]]:
    """``data`` as text with ``\\n`` line ends, or the problem that it is too large or not UTF-8."""
    if len(data) > MAX_BYTES:
        return None, [_too_large(file)]
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n"), []
    except UnicodeDecodeError as error:
        return None, [_not_utf8(data, error.start, file)]


def parse(text: str, file: str) -> Read:
    """The one document in ``text``, or None and what is wrong with it.

    An empty text, or one of comments only, gives None and no problem. Problems carry ``file`` and the
    place; after a syntax error, or once a limit is passed, nothing further is read.
    """
    if len(text) > MAX_BYTES:
        return None, [_too_large(file)]
    unseen = _unseen_problems(text, file)
    if unseen:
        return None, unseen
    builder = _Builder(file)
    loader = _engine()(text)
    try:
        builder.run(loader)
    except yaml.YAMLError as error:
        builder.problems.append(_syntax_problem(error, file))
    finally:
        loader.dispose()
    if builder.problems:
        return None, sorted(builder.problems)
    return builder.root, []


def unseen_character(text: str) -> str | None:
    """The first character of ``text`` that no file of ours may hold, or None."""
    found = _UNSEEN.search(text)
    return found.group() if found else None


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


class _Builder:
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
        if event.style == '"' and _UNSEEN.search(value):
            self.problems.append(_unseen(node.mark, value))
        self._place(node)

    def _start(self, event: Any) -> None:
        self._count(event)
        if event.anchor is not None or event.tag is not None:
            self._refuse_properties(event)
        if len(self.stack) >= MAX_DEPTH:
            self._stop(
                event, "too-deep", f"more than {MAX_DEPTH} levels inside each other.", "Make it flatter."
            )
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
            self._refuse(
                event, "tag", f"the tag {event.tag} is refused: what a text means is fixed here.", hint
            )

    def _refuse(
        self, event: Any, code: str, message: str, hint: str = "Write the value out in full."
    ) -> None:
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


def _syntax_problem(error: yaml.YAMLError, file: str) -> Problem:
    place = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    mark = Mark(file, place.line + 1, place.column + 1) if place else Mark(file, 1, 1)
    told = str(getattr(error, "problem", None) or error)
    hint = next((hint for start, hint in _HINTS.items() if start in told), _GENERAL_HINT)
    return Problem(mark, "syntax", f"this is not YAML: {told}.", hint)


def _unseen_problems(text: str, file: str) -> list[Problem]:
    found = _UNSEEN.search(text)
    if not found:
        return []
    line = text.count("\n", 0, found.start()) + 1
    column = found.start() - text.rfind("\n", 0, found.start())
    return [_unseen(Mark(file, line, column), text)]


def _unseen(mark: Mark, text: str) -> Problem:
    character = unseen_character(text) or ""
    message = f"the character U+{ord(character):04X} cannot be seen on the screen."
    return Problem(mark, "control-character", message, "Take it out.")


def _not_utf8(data: bytes, at: int, file: str) -> Problem:
    start = data.rfind(b"\n", 0, at) + 1
    column = len(data[start:at].decode("utf-8", "replace")) + 1
    mark = Mark(file, data.count(b"\n", 0, at) + 1, column)
    message = f"the byte 0x{data[at]:02x} is not UTF-8."
    return Problem(mark, "not-utf8", message, "Save the file as UTF-8 in your editor.")


def _too_large(file: str) -> Problem:
    message = f"the file is larger than {MAX_BYTES // 1024 // 1024} MiB."
    return Problem(Mark(file, 1, 1), "too-large", message, "Split it.")


def _unreadable(path: Path, error: OSError) -> Problem:
    mark = Mark(path.as_posix(), 1, 1)
    if isinstance(error, FileNotFoundError):
        return Problem(mark, "no-such-file", "there is no such file.", "Look at the name and the folder.")
    reason = error.strerror or str(error)
    return Problem(
        mark, "unreadable", f"the file cannot be read: {reason}.", "Look at what it is and who may read it."
    )
