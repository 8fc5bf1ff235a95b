"""One overlay laid over what was declared below it: entries taken out, added, and changed field by field.

Two overlays that say something about the same field are a problem with both places, never a matter of order.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Literal

from diag.knowledge.declared import Declarations, Declared
from diag.knowledge.known import ONE
from diag.knowledge.merge import merged, written
from diag.knowledge.prune import pruned_sections
from diag.knowledge.types import Provenance
from diag.text import ListNode, MapNode, Node, Problem, TextNode, did_you_mean, kind_of

OVERLAY_FILE = "overlay.yaml"
_SECTIONS = ("changes", "removes")
# What has a caution, a place in the vehicle or a share in every answer is changed, never taken out.
_REMOVABLE = ("causes", "effects", "findings", "tests", "history")

Path = tuple[str, ...]


@dataclass(slots=True)
class Layers:
    """What all overlays so far did: the place of each change by path, and the history of each entry."""

    declarations: Declarations
    touched: dict[Path, tuple[str, Node]] = field(default_factory=dict)
    provenance: dict[str, list[Provenance]] = field(default_factory=dict)

    def title(self, root: Node | None, folder_name: str) -> str:
        """What an overlay is called: its own title, or the name of its folder."""
        told = root.get("title") if isinstance(root, MapNode) else None
        return told.value if isinstance(told, TextNode) and told.value.strip() else folder_name

    def check(self, root: Node) -> None:
        """Complains of what an overlay file cannot hold."""
        if not isinstance(root, MapNode):
            self._add(root, "wrong-kind", f"a file holds a map, not {kind_of(root)}.", "Begin with 'changes:'.")
            return
        for key, _ in root.items:
            if key.value not in (*_SECTIONS, "title"):
                hint = did_you_mean(key.value, _SECTIONS) or f"Known here: title, {', '.join(_SECTIONS)}."
                self._add(key, "unknown-section", f"there is no section {key.value!r} in an overlay file.", hint)

    def remove(self, root: Node | None, title: str) -> None:
        """Takes out the entries under ``removes``, and whatever names them forgets them."""
        node = root.get("removes") if isinstance(root, MapNode) else None
        if node is None:
            return
        if not isinstance(node, ListNode):
            self._add(node, "wrong-kind", f"'removes' must be a list, not {kind_of(node)}.", "Write [one, two].")
            return
        gone = [item for item in node.items if isinstance(item, TextNode) and self._may_go(item, title)]
        for item in gone:
            self.declarations.take_out(item)
            self._tell(item.value, "removed", title, item)
        emptied = pruned_sections(self.declarations.sections, {item.value for item in gone})
        for id, by in emptied.items():
            node = next(item for item in gone if item.value == by)
            self.declarations.take_out(node._replace(value=id))
            self._tell(id, "removed", title, node)

    def tell_added(self, entries: Iterable[Declared], title: str) -> None:
        """Notes the entries that the files of an overlay added."""
        for entry in entries:
            self._tell(entry.key.value, "added", title, entry.key)

    def change(self, root: Node | None, title: str) -> None:
        """Lays the fields under ``changes`` over those of their entries."""
        node = root.get("changes") if isinstance(root, MapNode) else None
        if node is None or node == TextNode("", *node[1:4]):
            return
        if not isinstance(node, MapNode):
            self._add(node, "wrong-kind", f"'changes' must be a map, not {kind_of(node)}.", "Write ids below it.")
            return
        for key, fields in node.items:
            if not isinstance(fields, MapNode):
                message = f"{key.value}: its changes are a map of fields, not {kind_of(fields)}."
                self._add(fields, "wrong-kind", message, "Write the fields below, indented.")
            elif section := self._section_of(key, title):
                self._change_entry(section, key, fields, title)

    def _change_entry(self, section: str, key: TextNode, fields: MapNode, title: str) -> None:
        entry = self.declarations.sections[section][key.value]
        new, changes = merged(entry.fields, fields)
        free = [change for change in changes if self._is_free((key.value, *change.path), change.key, title)]
        if len(free) < len(changes):
            return
        self.declarations.sections[section][key.value] = Declared(entry.key, new, entry.chapter)
        for change in changes:
            field_name, before, after = ".".join(change.path), written(change.before), written(change.after)
            self._tell(key.value, "changed", title, change.key, field_name, before, after)

    def _may_go(self, item: TextNode, title: str) -> bool:
        section = self._section_of(item, title)
        if section is None or not self._is_free((item.value,), item, title):
            return False
        if section not in _REMOVABLE:
            message = f"{item.value!r} is a {ONE[section]}; it cannot be taken out."
            self._add(item, "not-removable", message, "Change it, or take out what needs it.")
            return False
        return True

    def _section_of(self, item: TextNode, title: str) -> str | None:
        """The section that has this id; where none has it, the problem is added."""
        ids = {id: name for name, entries in self.declarations.sections.items() if name != "twins" for id in entries}
        if item.value in ids:
            return ids[item.value]
        if self._is_free((item.value,), item, title):
            gone = self.declarations.gone.get(item.value)
            hint = f"It is taken out in {gone.mark}." if gone else did_you_mean(item.value, ids)
            hint = hint or "An overlay adds entries in chapters/NAME.yaml, not here."
            self._add(item, "unknown-id", f"there is nothing called {item.value!r} to change or take out.", hint)
        return None

    def _is_free(self, path: Path, node: Node, title: str) -> bool:
        """Whether no other overlay spoke of this path, of a part of it, or of all that holds it."""
        for other, (whose, place) in self.touched.items():
            near = min(len(other), len(path))
            if whose != title and other[:near] == path[:near]:
                what = ", ".join(path[:1] + (".".join(path[1:]),) * (len(path) > 1))
                message = f"{what}: the overlay {whose!r} says something else in {place.mark}."
                self._add(node, "overlay-conflict", message, "Keep it in one of the two.")
                return False
        self.touched[path] = (title, node)
        return True

    def _tell(
        self,
        id: str,
        kind: Literal["added", "changed", "removed"],
        title: str,
        place: Node,
        field_name: str = "",
        before: str = "",
        after: str = "",
    ) -> None:
        told = Provenance(kind, title, place.mark, field_name, before, after)
        self.provenance.setdefault(id, []).append(told)

    def _add(self, node: Node, code: str, message: str, hint: str) -> None:
        self.declarations.problems.append(Problem(node.mark, code, message, hint))


def entries_of(declarations: Declarations) -> Iterator[Declared]:
    """Every entry declared so far that is an entry of its own."""
    for name, entries in declarations.sections.items():
        if name != "twins":
            yield from entries.values()
