"""The knowledge base that a person asked for, ready for use."""

from __future__ import annotations

from pathlib import Path

from diag.knowledge.load import load, shipped_folder
from diag.knowledge.types import Knowledge
from diag.text import ProblemsFound


def layers(folder: Path | None) -> tuple[Path, Path | None]:
    """Base and overlay: a folder with a ``model.yaml`` is a base of its own, any other lies over the built-in one."""
    if folder is not None and (folder / "model.yaml").is_file():
        return folder, None
    return shipped_folder(), folder


def load_knowledge(folder: Path | None = None) -> Knowledge:
    """The built-in knowledge base, another one, or the built-in one with an overlay. Raises ProblemsFound."""
    knowledge, problems = load(*layers(folder))
    if knowledge is None:
        raise ProblemsFound(problems)
    return knowledge
