"""What a YAML file says, as frozen nodes: text, lists and maps, each with its place. Nothing is typed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from diag.text.mark import Mark


class TextNode(NamedTuple):
    """A scalar as it was written: ``yes``, ``007`` and ``1e3`` stay text.

    ``quoted`` is true where the author set quotes or used a block (``|``, ``>``).
    """

    value: str
    file: str
    line: int
    column: int
    quoted: bool = False

    @property
    def mark(self) -> Mark:
        """Where the text begins (its quotes included)."""
        return Mark(self.file, self.line, self.column)


class ListNode(NamedTuple):
    """A list in the order of the file."""

    items: tuple[Node, ...]
    file: str
    line: int
    column: int

    @property
    def mark(self) -> Mark:
        """Where the list begins."""
        return Mark(self.file, self.line, self.column)


class MapNode(NamedTuple):
    """A map in the order of the file; every key is text and stands once."""

    items: tuple[tuple[TextNode, Node], ...]
    file: str
    line: int
    column: int

    @property
    def mark(self) -> Mark:
        """Where the map begins: its first key, or the brace."""
        return Mark(self.file, self.line, self.column)

    def keys(self) -> Iterator[TextNode]:
        """The keys, in the order of the file."""
        return (key for key, _ in self.items)

    def get(self, name: str) -> Node | None:
        """The value of the key ``name``, or None where there is no such key."""
        return next((value for key, value in self.items if key.value == name), None)


Node = TextNode | ListNode | MapNode


def kind_of(node: Node | None) -> str:
    """What a node is, in words for a message."""
    if node is None:
        return "nothing"
    return {TextNode: "text", ListNode: "a list", MapNode: "a map"}[type(node)]
