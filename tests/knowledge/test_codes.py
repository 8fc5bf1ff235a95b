"""Every code is explained, and its examples do what they say when they are laid over the small base."""

from __future__ import annotations

import ast
import json
import re
from pathlib import Path
from typing import Any

import pytest

import diag.knowledge
import diag.network.cliques
import diag.text
from diag.knowledge.codes import Explanation, explain, explanations
from diag.knowledge.load import REGISTERS
from diag.knowledge.validate import validate_folder
from diag.text import ListNode, MapNode, Node, parse, read

# Codes about whole files; no piece of a chapter can show what is wrong.
IN_WORDS = {
    "clique-too-large",
    "missing-model-number",
    "no-such-file",
    "no-such-folder",
    "not-removable",
    "not-utf8",
    "overlay-conflict",
    "second-base",
    "too-large",
    "too-many-nodes",
    "unknown-file",
    "unreadable",
}
ONE_WORD = {"alias", "anchor", "cycle", "syntax", "tag", "unreadable"}
SECTION_FILES = {section: section for section in REGISTERS.values()}
SHOWN = [explanation for code, explanation in explanations().items() if code not in IN_WORDS]


def plain(node: Node | None) -> Any:
    if isinstance(node, MapNode):
        return {key.value: plain(value) for key, value in node.items}
    if isinstance(node, ListNode):
        return [plain(item) for item in node.items]
    return node.value if node else {}


def laid_over(base: Any, piece: Any) -> Any:
    """``base`` with the fields of ``piece`` in the place of its own; an empty text takes the field out."""
    if not isinstance(base, dict) or not isinstance(piece, dict):
        return piece
    merged = {**base, **{key: laid_over(base.get(key, {}), value) for key, value in piece.items()}}
    return {key: value for key, value in merged.items() if value != ""}


def codes_of(piece: str, base: Path, folder: Path) -> set[str]:
    """The codes of all problems of the base with ``piece`` laid over it."""
    root, problems = parse(piece, "piece")
    if problems:
        return {problem.code for problem in problems}
    changes = plain(root) if isinstance(root, MapNode) else {}
    for path in base.rglob("*.yaml"):
        content = plain(read(path)[0])
        here = REGISTERS.get(path.name, "chapter")
        own = {key: value for key, value in changes.items() if SECTION_FILES.get(key, "chapter") == here}
        target = folder / path.relative_to(base)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(json.dumps(laid_over(content, own)), encoding="utf-8")
    return {problem.code for problem in validate_folder(folder)[1]}


@pytest.mark.parametrize("explanation", SHOWN, ids=lambda explanation: explanation.code)
def test_the_wrong_example_is_wrong_and_the_right_one_is_right(
    explanation: Explanation, small_base: Path, tmp_path: Path
) -> None:
    assert explanation.code in codes_of(explanation.wrong, small_base, tmp_path / "wrong")
    assert codes_of(explanation.right, small_base, tmp_path / "right") == set()


def codes_in_the_source() -> set[str]:
    folders = [Path(str(package.__file__)).parent for package in (diag.text, diag.knowledge)]
    paths = [path for folder in folders for path in folder.rglob("*.py")]
    sources = [path.read_text(encoding="utf-8") for path in (*paths, Path(str(diag.network.cliques.__file__)))]
    texts = {
        node.value
        for source in sources
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    return {text for text in texts if re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)+", text) or text in ONE_WORD}


def test_every_code_is_explained_and_none_besides() -> None:
    # Names of encodings look like codes.
    assert codes_in_the_source() - {"utf-8", "utf-8-sig"} == set(explanations())


def test_an_unknown_code_has_no_explanation() -> None:
    assert explain("nonsense") is None
    assert explain("cycle") == explanations()["cycle"]
    assert all(e.says.endswith(".") and e.wrong and e.right for e in explanations().values())
