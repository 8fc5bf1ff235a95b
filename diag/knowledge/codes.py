"""What the codes of problems mean, for people who meet one: a sentence, a wrong and a right example."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from diag.text import MapNode, Node, ProblemsFound, TextNode, read

CODES_FILE = Path(__file__).with_name("codes.yaml")


@dataclass(frozen=True, slots=True)
class Explanation:
    """The rule behind a code; ``wrong`` and ``right`` are pieces of YAML, or words where no piece can show it."""

    code: str
    says: str
    wrong: str
    right: str


def explain(code: str) -> Explanation | None:
    """What ``code`` means, or None where there is no such code."""
    return explanations().get(code)


@cache
def explanations() -> Mapping[str, Explanation]:
    """Every code of the text and of the knowledge base with what it means."""
    root, problems = read(CODES_FILE)
    if not isinstance(root, MapNode):
        raise ProblemsFound(problems)
    return {key.value: _explanation(key.value, value) for key, value in root.items}


def _explanation(code: str, node: Node) -> Explanation:
    fields = {key.value: value for key, value in node.items} if isinstance(node, MapNode) else {}
    texts = {name: value.value for name, value in fields.items() if isinstance(value, TextNode)}
    return Explanation(code, **texts)
