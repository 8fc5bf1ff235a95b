"""Twin cases: for every cause a small invented case in which it comes first, and one alike in which another does.

Only their form is read here. Whether what they name is there is checked with the invariants: a case to try the
base by must not keep the base from being used.
"""

from __future__ import annotations

from diag.knowledge.fields import KINDS, Fields
from diag.knowledge.types import Told, Twin
from diag.text import MapNode, Node, Problem, TextNode, kind_of

NAMING = ("instead", "twin_of")


def read_twin(fields: Fields, _chapter: str) -> Twin:
    """The two cases of the cause whose id is the key."""
    marks = {name: fields.left[name][1].mark for name in NAMING if name in fields.left}
    return Twin(
        id=fields.id,
        mark=fields.mark,
        first=_told(fields, "first", needed="twin_of" not in fields.left),
        not_first=_told(fields, "not_first", needed=True),
        instead=fields.text("instead"),
        twin_of=fields.text("twin_of", needed=False),
        why=fields.text("why", needed="twin_of" in marks),
        marks=marks,
    )


def _told(fields: Fields, name: str, needed: bool) -> tuple[Told, ...]:
    node = fields.node(name, needed)
    if node is None or isinstance(node, MapNode):
        return tuple(_answer(fields, key, value) for key, value in (node.items if node else ()))
    fields.problems.append(_wrong_kind(node, f"{fields.id}: {name!r}", "map"))
    return ()


def _answer(fields: Fields, key: TextNode, value: Node) -> Told:
    if not isinstance(value, TextNode):
        fields.problems.append(_wrong_kind(value, f"{fields.id}: the answer to {key.value!r}", "text"))
    state = value.value if isinstance(value, TextNode) else ""
    return Told(key.value, state, key.mark, value.mark)


def _wrong_kind(node: Node, what: str, wanted: str) -> Problem:
    message = f"{what} must be {KINDS[wanted][0]}, not {kind_of(node)}."
    return Problem(node.mark, "wrong-kind", message, KINDS[wanted][1])
