"""The fields of one entry, read by name and typed; what is wrong is collected, never raised."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from diag.knowledge.known import TWO_STATES, Known
from diag.knowledge.links import read_by_state, read_link
from diag.knowledge.number import read_number
from diag.knowledge.types import Link, Number
from diag.text import ListNode, MapNode, Mark, Node, Problem, TextNode, did_you_mean, kind_of

KINDS = {
    "text": ("a text", "Put quotes around a text with a colon, a bracket or a brace in it."),
    "list": ("a list", "Put brackets around it: [one, two]."),
    "map": ("a map", "Write {name: value}, or one name a line below."),
}


class Fields:
    """Hands out the fields of a map. Every method takes its field; ``close`` complains of those left over.

    A wrong or missing field adds to ``problems`` and gives an empty value, so that reading goes on.
    """

    __slots__ = ("asked", "id", "known", "left", "mark", "problems")

    def __init__(self, key: TextNode, node: MapNode, known: Known, problems: list[Problem]) -> None:
        self.id = key.value
        self.mark: Mark = key.mark
        self.known = known
        self.problems = problems
        self.left = {name.value: (name, value) for name, value in node.items}
        self.asked: list[str] = []

    def node(self, name: str, needed: bool = False) -> Node | None:
        """The raw value of a field, or None; a field that is ``needed`` and not there is a problem."""
        self.asked.append(name)
        found = self.left.pop(name, None)
        if found is not None and not _is_empty(found[1]):
            return found[1]
        if needed or found is not None:
            mark = self.mark if found is None else found[0].mark
            state = "is empty" if found else "is missing"
            self._add(mark, "missing-field", f"{self.id}: the field {name!r} {state}.", f"Add '{name}: ...'.")
        return None

    def text(self, name: str, needed: bool = True) -> str:
        """A text; empty where an optional one is not there."""
        node = self.node(name, needed)
        if node is None or isinstance(node, TextNode):
            return node.value if node else ""
        self._wrong_kind(node, name, "text")
        return ""

    def word(self, name: str, allowed: tuple[str, ...], default: str = "") -> Any:
        """One of the ``allowed`` words; needed where there is no default."""
        node = self.node(name, needed=not default)
        if node is None:
            return default or allowed[0]
        if isinstance(node, TextNode) and node.value in allowed:
            return node.value
        said = node.value if isinstance(node, TextNode) else kind_of(node)
        message = f"{name!r} cannot be {said!r}."
        self._add(node.mark, "wrong-word", message, f"Use one of {', '.join(allowed)}.")
        return default or allowed[0]

    def flag(self, name: str) -> bool:
        """``yes`` or ``no``; no where the field is not there."""
        return bool(self.word(name, TWO_STATES, "no") == "yes")

    def texts(self, name: str, needed: bool = False) -> tuple[str, ...]:
        """A list of texts."""
        return tuple(node.value for node in self._texts(name, needed))

    def ids(self, name: str, section: str, needed: bool = False) -> tuple[str, ...]:
        """A list of ids of ``section``; unknown ones are left out, with a problem each."""
        nodes = self._texts(name, needed)
        return tuple(node.value for node in nodes if self.known.has(node, section, self.problems))

    def faults(self, name: str, needed: bool = False) -> tuple[str, ...]:
        """A list of ids of causes and damage; unknown ones are left out, with a problem each.

        What an overlay has taken out is left out quietly: the part is there without that fault.
        """
        found = []
        for node in self._texts(name, needed):
            if node.value in self.known.gone:
                continue
            section = "effects" if node.value in self.known.sections["effects"] else "causes"
            if self.known.has(node, section, self.problems):
                found.append(node.value)
        return tuple(found)

    def states(self) -> tuple[str, ...]:
        """The states of this entry, ``no`` and ``yes`` where it names none."""
        nodes = self._texts("states", needed=False)
        states = tuple(node.value for node in nodes)
        if nodes and (len(states) < 2 or len(set(states)) < len(states)):
            message = f"{self.id}: two or more states are wanted, each once."
            self._add(nodes[0].mark, "wrong-states", message, "Write the ordinary one first.")
        return states if len(states) > 1 else TWO_STATES

    def number(self, name: str) -> Number:
        """A number with its grade."""
        node = self.node(name, needed=True)
        return read_number(node, self.problems) if node else Number(0.0, "judgement", self.mark)

    def number_or_none(self, name: str) -> Number | None:
        """A number with its grade, or None where the field is not there."""
        node = self.node(name)
        return read_number(node, self.problems) if node else None

    def whole(self, name: str, default: int) -> int:
        """A whole number without a grade: a count or a step of a scale."""
        node = self.node(name)
        if node is None:
            return default
        if isinstance(node, TextNode) and node.value.isascii() and node.value.isdigit():
            return int(node.value)
        self._add(node.mark, "not-a-number", f"{name!r} must be a whole number.", f"Write it as {name}: 2.")
        return default

    def numbers(self, name: str, section: str, needed: bool = False) -> dict[str, Number]:
        """Numbers by id of ``section``."""
        return {
            key.value: read_number(value, self.problems)
            for key, value in self._pairs(name, needed)
            if self.known.has(key, section, self.problems)
        }

    def by_state(self, name: str, states: tuple[str, ...], needed: bool = True) -> dict[str, Number]:
        """Numbers by state, or a single one for the last of two states."""
        node = self.node(name, needed)
        return {} if node is None else read_by_state(node, states, self.problems)

    def links(self, name: str, section: str, states: tuple[str, ...]) -> tuple[Link, ...]:
        """Links to entries of ``section`` from this entry, whose states are ``states``."""
        ends = self.known.sections[section]
        return tuple(
            read_link(key, value, states, ends[key.value], self.problems)
            for key, value in self._pairs(name)
            if self.known.has(key, section, self.problems)
        )

    def words_by_state(self, name: str, states: tuple[str, ...]) -> Mapping[str, str]:
        """Texts by state."""
        return self._words(self._pairs(name), states)

    def answers(self, name: str) -> Mapping[str, tuple[str, ...]]:
        """Lists of states by finding."""
        ends = self.known.sections["findings"]
        found = {}
        for key, value in self._pairs(name):
            if not self.known.has(key, "findings", self.problems):
                continue
            if isinstance(value, ListNode):
                words = tuple((item, item) for item in value.items if isinstance(item, TextNode))
                found[key.value] = tuple(self._words(words, ends[key.value]))
            else:
                self._wrong_kind(value, key.value, "list")
        return found

    def words_by_name(self, name: str) -> Mapping[str, str]:
        """Texts by any name."""
        pairs = self._pairs(name)
        return self._words(pairs, tuple(key.value for key, _ in pairs))

    def outcomes(self, name: str) -> Mapping[str, Mapping[str, str]]:
        """Texts by finding and state."""
        ends = self.known.sections["findings"]
        found = {}
        for key, value in self._pairs(name, needed=True):
            if not self.known.has(key, "findings", self.problems):
                continue
            if isinstance(value, MapNode):
                found[key.value] = self._words(value.items, ends[key.value])
            else:
                self._wrong_kind(value, key.value, "map")
        return found

    def nested(self, name: str) -> Fields | None:
        """The fields of a map inside this entry, or None where it is not there."""
        found = self.left.get(name)
        node = self.node(name)
        if found is None or node is None:
            return None
        if isinstance(node, MapNode):
            key = found[0]._replace(value=f"{self.id}: {name}")
            return Fields(key, node, self.known, self.problems)
        self._wrong_kind(node, name, "map")
        return None

    def close(self) -> None:
        """Complains of every field that nobody asked for."""
        for key, _ in self.left.values():
            hint = did_you_mean(key.value, self.asked) or f"Known fields: {', '.join(self.asked)}."
            self._add(key.mark, "unknown-field", f"{self.id}: there is no field {key.value!r}.", hint)

    def _words(self, pairs: tuple[tuple[TextNode, Node], ...], states: tuple[str, ...]) -> dict[str, str]:
        words = {}
        for key, value in pairs:
            if key.value not in states:
                hint = did_you_mean(key.value, states) or f"The states are {', '.join(states)}."
                self._add(key.mark, "unknown-state", f"there is no state {key.value!r}.", hint)
            elif isinstance(value, TextNode):
                words[key.value] = value.value
            else:
                self._wrong_kind(value, key.value, "text")
        return words

    def _texts(self, name: str, needed: bool) -> tuple[TextNode, ...]:
        node = self.node(name, needed)
        if node is None:
            return ()
        if not isinstance(node, ListNode):
            self._wrong_kind(node, name, "list")
            return ()
        for item in node.items:
            if not isinstance(item, TextNode):
                self._wrong_kind(item, name, "text")
        return tuple(item for item in node.items if isinstance(item, TextNode))

    def _pairs(self, name: str, needed: bool = False) -> tuple[tuple[TextNode, Node], ...]:
        node = self.node(name, needed)
        if node is None or isinstance(node, MapNode):
            return node.items if node else ()
        self._wrong_kind(node, name, "map")
        return ()

    def _wrong_kind(self, node: Node, name: str, wanted: str) -> None:
        message = f"{self.id}: {name!r} must be {KINDS[wanted][0]}, not {kind_of(node)}."
        self._add(node.mark, "wrong-kind", message, KINDS[wanted][1])

    def _add(self, mark: Mark, code: str, message: str, hint: str) -> None:
        self.problems.append(Problem(mark, code, message, hint))


def _is_empty(node: Node) -> bool:
    return isinstance(node, TextNode) and not node.value.strip()
