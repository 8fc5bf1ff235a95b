"""The entries that the files declare, still as nodes: by section and id."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from diag.knowledge.known import ONE, TWO_STATES, Known
from diag.text import ListNode, MapNode, Node, Problem, TextNode, did_you_mean, kind_of

CHAPTER_SECTIONS = ("causes", "effects", "findings", "tests")
WITH_STATES = ("effects", "findings")
# Twin cases go by the id of their cause.
NAMED_BY_CAUSE = "twins"

_ID = re.compile(r"[a-z][a-z0-9]*(?:_[a-z0-9]+)*")
# Names that the network or the commands use themselves.
_RESERVED = re.compile(r"unlisted(?:_.*)?|nothing_wrong|initiating_cause|not_found")


@dataclass(frozen=True, slots=True)
class Declared:
    """One entry as it stands in its file."""

    key: TextNode
    fields: MapNode
    chapter: str


@dataclass(slots=True)
class Declarations:
    """Collects the entries of files; ``problems`` is added to. ``gone`` holds ids taken out, each with its place."""

    problems: list[Problem]
    sections: dict[str, dict[str, Declared]] = field(default_factory=lambda: {name: {} for name in ONE})
    owners: dict[str, tuple[str, TextNode]] = field(default_factory=dict)
    gone: dict[str, TextNode] = field(default_factory=dict)

    def add_file(self, root: Node, sections: Iterable[str], stem: str) -> None:
        """Takes the entries of one file, which may hold ``sections`` and a title."""
        if not isinstance(root, MapNode):
            self._add(root, "wrong-kind", f"a file holds a map, not {kind_of(root)}.", "Begin with 'causes:'.")
            return
        title = root.get("title")
        chapter = title.value if isinstance(title, TextNode) else stem
        for key, value in root.items:
            if key.value in sections:
                self._add_section(key.value, value, chapter)
            elif key.value != "title":
                hint = did_you_mean(key.value, sections) or f"Known here: title, {', '.join(sections)}."
                self._add(key, "unknown-section", f"there is no section {key.value!r} in this file.", hint)

    def _add_section(self, section: str, node: Node, chapter: str) -> None:
        if not isinstance(node, MapNode):
            if node != TextNode("", *node[1:4]):
                message = f"{section!r} holds a map of ids, not {kind_of(node)}."
                self._add(node, "wrong-kind", message, "Write an id, a colon, and its fields below.")
            return
        for key, value in node.items:
            if isinstance(value, MapNode):
                self._add_entry(section, Declared(key, value, chapter))
            else:
                message = f"{key.value}: a {ONE[section]} is a map of fields, not {kind_of(value)}."
                self._add(value, "wrong-kind", message, "Write its fields below, indented.")

    def _add_entry(self, section: str, entry: Declared) -> None:
        key = entry.key
        if section == NAMED_BY_CAUSE:
            self.sections[section][key.value] = entry
            return
        if not _ID.fullmatch(key.value):
            self._add(key, "bad-id", f"{key.value!r} is no id.", "Use lower case words joined by _.")
        elif _RESERVED.fullmatch(key.value):
            self._add(key, "reserved-id", f"the program itself uses {key.value!r}.", "Take another name.")
        other, first = self.owners.setdefault(key.value, (section, key))
        if first is not key:
            message = f"the id {key.value!r} is a {ONE[other]} in {first.file}:{first.line} already."
            self._add(
                key, "id-used-twice", message, "Take another name for one; an overlay changes an entry under 'changes'."
            )
            return
        self.sections[section][key.value] = entry

    def known(self) -> Known:
        """The ids and states of what was taken so far."""
        sections = {section: _all_states(section, entries) for section, entries in self.sections.items()}
        return Known(sections, self._renamed(), {id: node.mark for id, node in self.gone.items()})

    def take_out(self, item: TextNode) -> None:
        """Forgets the entry whose id is the text of ``item``; the id is not free again."""
        for entries in self.sections.values():
            entries.pop(item.value, None)
        self.gone[item.value] = item

    def _renamed(self) -> Mapping[str, str]:
        renamed: dict[str, str] = {}
        for entries in self.sections.values():
            for name, entry in entries.items():
                former = entry.fields.get("formerly")
                if isinstance(former, ListNode):
                    renamed.update((node.value, name) for node in former.items if isinstance(node, TextNode))
        return renamed

    def _add(self, node: Node, code: str, message: str, hint: str) -> None:
        self.problems.append(Problem(node.mark, code, message, hint))


def _all_states(section: str, entries: Mapping[str, Declared]) -> dict[str, tuple[str, ...]]:
    if section not in WITH_STATES:
        return dict.fromkeys(entries, TWO_STATES)
    return {name: _states(entry) for name, entry in entries.items()}


def _states(entry: Declared) -> tuple[str, ...]:
    """The states as written; what is wrong with them is told when the entry itself is read."""
    node = entry.fields.get("states")
    if not isinstance(node, ListNode):
        return TWO_STATES
    states = tuple(item.value for item in node.items if isinstance(item, TextNode))
    return states if len(states) > 1 else TWO_STATES
