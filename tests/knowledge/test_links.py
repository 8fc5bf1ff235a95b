"""The four shapes of a link, all stored by parent state and child state."""

from __future__ import annotations

import pytest

from diag.knowledge.links import read_link
from diag.knowledge.types import Link
from diag.text import MapNode, Problem, parse

TWO = ("no", "yes")
MANY = ("none", "hot", "boiled")
N = "0.5 (0.4..0.6) judgement"


def link(text: str, parent: tuple[str, ...], child: tuple[str, ...]) -> tuple[Link, list[tuple[str, int, int]]]:
    root, syntax = parse(f"end: {text}", "f")
    assert syntax == []
    assert isinstance(root, MapNode)
    problems: list[Problem] = []
    found = read_link(*root.items[0], parent, child, problems)
    return found, [(p.code, p.mark.line, p.mark.column) for p in problems]


@pytest.mark.parametrize(
    ("text", "parent", "child", "shape"),
    [
        (N, TWO, TWO, {"yes": ["yes"]}),
        (f"{{yes: {N}}}", TWO, TWO, {"yes": ["yes"]}),
        (f"{{hot: {N}, boiled: {N}}}", TWO, MANY, {"yes": ["hot", "boiled"]}),
        (f"{{hot: {N}, boiled: {N}}}", MANY, TWO, {"hot": ["yes"], "boiled": ["yes"]}),
        (f"{{yes: {{boiled: {N}}}}}", TWO, MANY, {"yes": ["boiled"]}),
        (f"{{hot: {{yes: {N}}}}}", MANY, TWO, {"hot": ["yes"]}),
        (
            f"{{hot: {{hot: {N}}}, boiled: {{hot: {N}, boiled: {N}}}}}",
            MANY,
            MANY,
            {"hot": ["hot"], "boiled": ["hot", "boiled"]},
        ),
    ],
)
def test_a_link_is_stored_by_both_states(
    text: str, parent: tuple[str, ...], child: tuple[str, ...], shape: dict[str, list[str]]
) -> None:
    found, problems = link(text, parent, child)
    assert problems == []
    assert {state: list(strengths) for state, strengths in found.strengths.items()} == shape
    assert all(n.value == 0.5 for strengths in found.strengths.values() for n in strengths.values())
    assert (found.child, found.mark.line, found.mark.column) == ("end", 1, 1)


@pytest.mark.parametrize(
    ("text", "parent", "child", "wrong"),
    [
        (N, TWO, MANY, [("states-wanted", 1, 6)]),
        (N, MANY, TWO, [("states-wanted", 1, 6)]),
        (f"{{hot: {N}}}", MANY, MANY, [("states-wanted", 1, 6)]),
        (f"{{hot: {N}, boiled: {{hot: {N}}}}}", MANY, MANY, [("states-wanted", 1, 12)]),
        (f"{{hott: {N}}}", TWO, MANY, [("unknown-state", 1, 7)]),
        (f"{{hott: {N}}}", MANY, TWO, [("unknown-state", 1, 7)]),
        (f"{{hot: {{maybe: {N}}}}}", MANY, TWO, [("unknown-state", 1, 13)]),
        (f"{{no: {N}}}", TWO, TWO, [("ordinary-state", 1, 7)]),
        (f"{{none: {{hot: {N}}}}}", MANY, MANY, [("ordinary-state", 1, 7)]),
        ("{hot: [a]}", TWO, MANY, [("not-a-number", 1, 12)]),
    ],
)
def test_a_link_of_the_wrong_shape_is_told(
    text: str, parent: tuple[str, ...], child: tuple[str, ...], wrong: list[tuple[str, int, int]]
) -> None:
    assert link(text, parent, child)[1] == wrong
