"""Diagnosed cases as a YAML list: what was known at intake, what each step told, and what the cause was."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from diag.knowledge.types import Told
from diag.text import ListNode, MapNode, Mark, Node, Problem, TextNode, read

FIELDS = ("id", "in_scope", "fitted", "intake", "steps", "reveal", "truth", "family")
NOTHING = ("", "null", "~")
_FLAGS = {"yes": True, "true": True, "no": False, "false": False}


@dataclass(frozen=True)
class DiagnosedCase:
    """One case with its answer. ``reveal`` is the step, from 1, at which the cause lay bare, or None."""

    id: str
    in_scope: bool
    fitted: tuple[Told, ...]
    intake: tuple[Told, ...]
    steps: tuple[tuple[Told, ...], ...]
    reveal: int | None
    truth: tuple[str, ...]
    family: str
    mark: Mark

    def known(self, view: str) -> tuple[Told, ...] | None:
        """What a view tells: ``intake``, or ``told``, which adds all steps before the revealing one.

        None where nothing came before it, or the cause never lay bare.
        """
        if view == "intake":
            return self.intake
        if self.reveal is None or self.reveal < 2:
            return None
        return tuple(answer for step in (self.intake, *self.steps[: self.reveal - 1]) for answer in step)


class _Wrong(Exception):
    """A field that is not as it should be; ends the reading of its case."""

    def __init__(self, node: Node, message: str, hint: str) -> None:
        self.problem = Problem(node.mark, "wrong-case", message, hint)


def read_cases(path: Path) -> tuple[list[DiagnosedCase], list[Problem]]:
    """All cases of a file, and what is wrong in it. Fields beyond the format are let pass."""
    root, problems = read(path)
    if root is None:
        return [], problems
    cases: dict[str, DiagnosedCase] = {}
    try:
        nodes = _items(root, "a file of diagnosed cases is a list.", "Begin each case with '- id: ...'.")
    except _Wrong as wrong:
        return [], [*problems, wrong.problem]
    for node in nodes:
        try:
            case = _case(node)
            if case.id in cases:
                raise _Wrong(node, f"there are two cases {case.id!r}.", "Give each an id of its own.")
            cases[case.id] = case
        except _Wrong as wrong:
            problems.append(wrong.problem)
    return list(cases.values()), problems


def _case(node: Node) -> DiagnosedCase:
    if not isinstance(node, MapNode):
        raise _Wrong(node, "a case is a map of fields.", f"Its fields are {', '.join(FIELDS)}.")
    fields = {key.value: value for key, value in node.items}
    missing = [name for name in FIELDS if name not in fields]
    if missing:
        raise _Wrong(node, f"the field {missing[0]!r} is missing.", f"A case has {', '.join(FIELDS)}.")
    steps = [] if _is_nothing(fields["steps"]) else _items(fields["steps"], "'steps' is a list.", "Write [] for none.")
    return DiagnosedCase(
        id=_text(fields["id"]),
        in_scope=_flag(fields["in_scope"]),
        fitted=tuple(_fitted(fields["fitted"])),
        intake=tuple(_answers(fields["intake"])),
        steps=tuple(tuple(_answers(step)) for step in steps),
        reveal=_reveal(fields["reveal"]),
        truth=_truth(fields["truth"]),
        family=_text(fields["family"]),
        mark=node.mark,
    )


def _text(node: Node) -> str:
    if not isinstance(node, TextNode):
        raise _Wrong(node, "one word is expected here.", "No map and no list.")
    return node.value


def _items(node: Node, message: str, hint: str) -> list[Node]:
    if not isinstance(node, ListNode):
        raise _Wrong(node, message, hint)
    return list(node.items)


def _is_nothing(node: Node) -> bool:
    return isinstance(node, TextNode) and node.value in NOTHING


def _flag(node: Node) -> bool:
    if _text(node).lower() not in _FLAGS:
        raise _Wrong(node, "'in_scope' is yes or no.", "Write one of them.")
    return _FLAGS[_text(node).lower()]


def _reveal(node: Node) -> int | None:
    """A number beyond the steps means after all of them."""
    text = _text(node)
    if text not in NOTHING and not (text.isascii() and text.isdigit() and int(text) > 0):
        raise _Wrong(node, "'reveal' is the number of a step, or null.", "Count from 1.")
    return None if text in NOTHING else int(text)


def _truth(node: Node) -> tuple[str, ...]:
    if _is_nothing(node):
        return ()
    return tuple(_text(item) for item in _items(node, "'truth' is a list of causes.", "Write [] where none is known."))


def _fitted(node: Node) -> Iterator[Told]:
    """A map of answers, or a list of what the vehicle has."""
    if not isinstance(node, ListNode):
        yield from _answers(node)
        return
    for item in node.items:
        yield Told(_text(item), "yes", item.mark, item.mark)


def _answers(node: Node) -> Iterator[Told]:
    if _is_nothing(node):
        return
    if not isinstance(node, MapNode):
        raise _Wrong(node, "answers are a map.", "Write {ID: STATE, ...}, or {} for none.")
    for key, value in node.items:
        yield Told(key.value, _text(value), key.mark, value.mark)
