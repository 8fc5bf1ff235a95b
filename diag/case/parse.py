"""The nodes of a case file into a Case, or into all that is wrong with it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from diag.case.entry import Case, Entry, FindingEntry, OpenedEntry
from diag.case.forms import Wrong, read_value
from diag.case.layout import COMMON_KEYS, ENTRY_KEY, FORMAT, HEAD_KEYS, KINDS, SIGN, needed, own_fields
from diag.text import ListNode, MapNode, Mark, Node, Problem, TextNode, did_you_mean, kind_of

_ALWAYS = (ENTRY_KEY, "time", "knowledge")


def case_of(root: Node | None, file: str) -> tuple[Case | None, list[Problem]]:
    """The case that ``root`` tells, or None and the problems, sorted."""
    foreign = _foreign(root, file)
    if foreign or not isinstance(root, MapNode):
        return None, foreign
    reader = _Reader()
    vehicle = reader.value("vehicle", root.get("vehicle"), root.mark)
    reader.unknown_keys(root, HEAD_KEYS)
    entries = tuple(reader.entries(root))
    if reader.problems:
        return None, sorted(reader.problems)
    return Case(file, str(vehicle), entries), []


def _foreign(root: Node | None, file: str) -> list[Problem]:
    """What says that this is no case file, or one of a newer program; then nothing else is looked at."""
    sign = root.get(SIGN) if isinstance(root, MapNode) else None
    if not isinstance(root, MapNode) or not isinstance(sign, TextNode) or sign.value != "true":
        mark = sign.mark if sign else root.mark if root else Mark(file, 1, 1)
        hint = f"A case file says '{SIGN}: true' at its top; look at the name of the file."
        return [Problem(mark, "not-a-case", "this file is not a case of diag.", hint)]
    told = root.get("format")
    number = told.value if isinstance(told, TextNode) else ""
    if number == str(FORMAT):
        return []
    mark = told.mark if told else root.mark
    if number.isdecimal() and len(number) < 10 and int(number) > FORMAT:
        message = f"the case is written in format {number}, this program knows format {FORMAT} at most."
        return [Problem(mark, "newer-format", message, "Install a newer diag to go on with this case.")]
    return [Problem(mark, "case-format", "the format of the case is not known.", f"Write 'format: {FORMAT}'.")]


class _Reader:
    """Collects the problems while the parts of one file are read."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def entries(self, root: MapNode) -> Iterator[Entry]:
        """The entries that can be read."""
        node = root.get("entries")
        if not isinstance(node, ListNode) or not node.items:
            mark = node.mark if node else root.mark
            message = f"a list of entries is expected under 'entries:', here is {_what(node)}."
            self._add(mark, "case-entries", message, "Restore it from a copy, or begin anew: diag new FILE.")
            return
        last = 0
        for place, item in enumerate(node.items):
            entry = self._entry(item)
            if entry:
                self._order(entry, place, last)
                last = entry.number
                yield entry

    def value(self, key: str, node: Node | None, place: Mark) -> object:
        """What stands behind a key that must be there; a Wrong is also put among the problems."""
        value = Wrong(place, f"'{key}:' is missing.", "Add it.") if node is None else read_value(key, node)
        if isinstance(value, Wrong):
            self._add(value.mark, "case-value", f"{key}: {value.message}", value.hint)
        return value

    def unknown_keys(self, node: MapNode, known: Iterable[str]) -> None:
        """Adds a problem for each key of ``node`` that is not ``known``."""
        allowed = tuple(known)
        for key, _ in node.items:
            if key.value not in allowed:
                hint = did_you_mean(key.value, allowed) or f"Known here: {', '.join(allowed)}."
                self._add(key.mark, "unknown-key", f"the key '{key.value}' is not known here.", hint)

    def _entry(self, node: Node) -> Entry | None:
        kind = self._kind(node)
        if kind is None or not isinstance(node, MapNode):
            return None
        own = own_fields(KINDS[kind])
        must = {*_ALWAYS, *(field.name for field in own if needed(field))}
        known = (ENTRY_KEY, *(field.name for field in own), *COMMON_KEYS)
        self.unknown_keys(node, known)
        told = {key.value: value for key, value in node.items}
        place = node.mark
        values = {k: self.value(k, told.get(k), place) for k in known if k in must or k in told}
        if any(isinstance(value, Wrong) for value in values.values()):
            return None
        values["number"] = values.pop(ENTRY_KEY)
        values["marks"] = {key: value.mark for key, value in told.items()}
        return self._made(KINDS[kind], place, values)

    def _made(self, kind: type[Entry], place: Mark, values: dict[str, object]) -> Entry:
        make: type = kind
        entry: Entry = make(mark=place, **values)
        if isinstance(entry, FindingEntry) and not (entry.state or entry.reading):
            self._add(place, "case-value", "neither a state nor a reading is told.", "Add 'state:'.")
        return entry

    def _kind(self, node: Node) -> str | None:
        found = [key for key, _ in node.items if key.value in KINDS] if isinstance(node, MapNode) else []
        if len(found) == 1:
            return found[0].value
        hint = f"Each entry has one of: {', '.join(KINDS)}."
        if found:
            names = " and ".join(key.value for key in found)
            self._add(found[1].mark, "entry-kind", f"an entry cannot be {names} at once.", hint)
        else:
            self._add(node.mark, "entry-kind", "nothing says what this entry is.", hint)
        return None

    def _order(self, entry: Entry, place: int, last: int) -> None:
        if entry.number <= last:
            message = f"entry {entry.number} stands after entry {last}; numbers must grow."
            self._add(entry.at(ENTRY_KEY), "entry-number", message, f"Give it the number {last + 1}.")
        if isinstance(entry, OpenedEntry) != (place == 0):
            message = "the first entry, and only it, opens the case."
            self._add(entry.mark, "entry-order", message, "Put 'opened: {}' into the first entry.")

    def _add(self, mark: Mark, code: str, message: str, hint: str) -> None:
        self.problems.append(Problem(mark, code, message, hint))


def _what(node: Node | None) -> str:
    return "an empty list" if isinstance(node, ListNode) else kind_of(node)
