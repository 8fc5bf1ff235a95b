"""Diagnosed cases as a YAML list: what was known at intake, what each step told, and what the cause was."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from diag.text import ListNode, MapNode, Mark, Node, Problem, TextNode, read

FIELDS = ("id", "in_scope", "fitted", "intake", "steps", "reveal", "truth", "family")
NOTHING = ("", "null", "~")


@dataclass(frozen=True)
class DiagnosedCase:
    """One case with its answer. ``reveal`` is the step, from 1, at which the cause lay bare, or None."""

    id: str
    in_scope: bool
    fitted: Mapping[str, str]
    intake: Mapping[str, str]
    steps: tuple[Mapping[str, str], ...]
    reveal: int | None
    truth: tuple[str, ...]
    family: str
    mark: Mark

    def told(self) -> dict[str, str] | None:
        """Intake and all steps before the revealing one; None where nothing came before it."""
        if self.reveal is None or self.reveal < 2:
            return None
        known = dict(self.intake)
        for step in self.steps[: self.reveal - 1]:
            known.update(step)
        return known


def read_cases(path: Path) -> tuple[list[DiagnosedCase], list[Problem]]:
    """All cases of a file, and what is wrong in it. Fields beyond the format are let pass."""
    root, problems = read(path)
    if root is None:
        return [], problems
    if not isinstance(root, ListNode):
        return [], [
            *problems,
            _wrong(root, "a file of diagnosed cases is a list.", "Begin each case with '- id: ...'."),
        ]
    cases = []
    for node in root.items:
        case = _case(node, problems)
        if case is not None:
            cases.append(case)
    return cases, problems


def _case(node: Node, problems: list[Problem]) -> DiagnosedCase | None:
    if not isinstance(node, MapNode):
        problems.append(_wrong(node, "a case is a map of fields.", f"Its fields are {', '.join(FIELDS)}."))
        return None
    fields = {key.value: value for key, value in node.items}
    missing = [name for name in FIELDS if name not in fields]
    if missing:
        problems.append(_wrong(node, f"the field {missing[0]!r} is missing.", f"A case has {', '.join(FIELDS)}."))
        return None
    steps = fields["steps"]
    reveal = _text(fields["reveal"])
    if reveal not in NOTHING and not reveal.isdigit():
        problems.append(_wrong(fields["reveal"], "'reveal' is the number of a step, or null.", "Count from 1."))
        return None
    return DiagnosedCase(
        id=_text(fields["id"]),
        in_scope=_text(fields["in_scope"]) in ("yes", "true"),
        fitted=_pairs(fields["fitted"]),
        intake=_pairs(fields["intake"]),
        steps=tuple(_pairs(step) for step in steps.items) if isinstance(steps, ListNode) else (),
        reveal=None if reveal in NOTHING else int(reveal),
        truth=tuple(_text(item) for item in fields["truth"].items) if isinstance(fields["truth"], ListNode) else (),
        family=_text(fields["family"]),
        mark=node.mark,
    )


def _text(node: Node) -> str:
    return node.value if isinstance(node, TextNode) else ""


def _pairs(node: Node) -> dict[str, str]:
    """A map of texts; a list of ids is read as each being 'yes'."""
    if isinstance(node, MapNode):
        return {key.value: _text(value) for key, value in node.items}
    return {_text(item): "yes" for item in node.items} if isinstance(node, ListNode) else {}


def _wrong(node: Node, message: str, hint: str) -> Problem:
    return Problem(node.mark, "wrong-case", message, hint)
