"""What names an entry that is taken out forgets it: links, factors, faults brought in, findings of tests."""

from __future__ import annotations

from collections.abc import Collection, Mapping, MutableMapping
from dataclasses import replace

from diag.knowledge.declared import NAMED_BY_CAUSE, Declared
from diag.text import ListNode, MapNode, Node, TextNode

_MAPS = ("leads_to", "shows", "factors", "brings_in", "inhibited_by", "outcomes", "harm", "told", "likely", "unless")
_LISTS = ("reveals", "destroys", "hides", "brings_back", "tests")
_NAMING = ("instead", "twin_of")


def pruned_sections(sections: Mapping[str, MutableMapping[str, Declared]], gone: Collection[str]) -> dict[str, str]:
    """Prunes every entry in place. Returns the tests that reveal nothing any more, with the finding they lost."""
    emptied: dict[str, str] = {}
    if not gone:
        return emptied
    for name, entries in sections.items():
        for id, entry in list(entries.items()):
            if name == NAMED_BY_CAUSE and (id in gone or _tells_of(entry.fields, gone)):
                del entries[id]
                continue
            fields = _pruned(entry.fields, gone)
            if fields is not entry.fields:
                entries[id] = replace(entry, fields=fields)
                if name == "tests" and fields.get("reveals") in _no_items(fields):
                    emptied[id] = _first_lost(entry.fields, gone)
    return emptied


def _no_items(fields: MapNode) -> tuple[Node | None, ...]:
    reveals = fields.get("reveals")
    return (reveals,) if isinstance(reveals, ListNode) and not reveals.items else ()


def _first_lost(fields: MapNode, gone: Collection[str]) -> str:
    reveals = fields.get("reveals")
    items = reveals.items if isinstance(reveals, ListNode) else ()
    return next(item.value for item in items if isinstance(item, TextNode) and item.value in gone)


def _pruned(fields: MapNode, gone: Collection[str]) -> MapNode:
    """``fields`` without what is gone; the same object where nothing of it is named."""
    items = tuple((key, _pruned_value(key.value, value, gone)) for key, value in fields.items)
    same = all(new is old for (_, new), (_, old) in zip(items, fields.items, strict=True))
    return fields if same else fields._replace(items=items)


def _pruned_value(name: str, value: Node, gone: Collection[str]) -> Node:
    if name == "repair" and isinstance(value, MapNode):
        return _pruned(value, gone)
    if name in _MAPS and isinstance(value, MapNode):
        pairs = tuple(pair for pair in value.items if pair[0].value not in gone)
        return value if len(pairs) == len(value.items) else value._replace(items=pairs)
    if name in _LISTS and isinstance(value, ListNode):
        kept = tuple(item for item in value.items if not (isinstance(item, TextNode) and item.value in gone))
        return value if len(kept) == len(value.items) else value._replace(items=kept)
    return value


def _tells_of(fields: MapNode, gone: Collection[str]) -> bool:
    """Whether a pair of twin cases names anything that is gone."""
    for key, value in fields.items:
        if isinstance(value, MapNode) and any(inner.value in gone for inner, _ in value.items):
            return True
        if key.value in _NAMING and isinstance(value, TextNode) and value.value in gone:
            return True
    return False
