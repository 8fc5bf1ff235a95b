"""The fields of a change laid over those of an entry, as nodes with their places."""

from __future__ import annotations

from dataclasses import dataclass

from diag.text import ListNode, MapNode, Node, TextNode

NONE = "none"  # in a change: this field, or this key of a map, is taken out


@dataclass(frozen=True, slots=True)
class Change:
    """One field, or one key of a map inside it, with what stood there and what stands there now."""

    path: tuple[str, ...]
    key: TextNode
    before: Node | None
    after: Node | None


def merged(old: MapNode, change: MapNode, path: tuple[str, ...] = ()) -> tuple[MapNode, list[Change]]:
    """``old`` with ``change`` over it. Maps go together key by key, texts and lists are replaced whole."""
    items = {key.value: (key, value) for key, value in old.items}
    changes: list[Change] = []
    for key, new in change.items:
        here = (*path, key.value)
        before = items[key.value][1] if key.value in items else None
        if isinstance(before, MapNode) and isinstance(new, MapNode):
            inner, more = merged(before, new, here)
            items[key.value] = (items[key.value][0], inner)
            changes.extend(more)
            continue
        after = None if isinstance(new, TextNode) and new.value == NONE else new
        changes.append(Change(here, key, before, after))
        if after is None:
            items.pop(key.value, None)
        else:
            items[key.value] = (key, after)
    return old._replace(items=tuple(items.values())), changes


def written(node: Node | None) -> str:
    """A node in one line, as it would stand in a file; nothing for one that is not there."""
    match node:
        case None:
            return ""
        case TextNode():
            return node.value
        case ListNode():
            return f"[{', '.join(written(item) for item in node.items)}]"
        case MapNode():
            return f"{{{', '.join(f'{key.value}: {written(value)}' for key, value in node.items)}}}"
