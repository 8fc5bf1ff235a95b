"""The knowledge base that a person asked for, ready for use."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from diag.knowledge.load import load, shipped_folder
from diag.knowledge.types import Knowledge
from diag.text import ProblemsFound


def layers(folders: Sequence[Path]) -> tuple[Path, ...]:
    """The base, then its overlays. A first folder with a ``model.yaml`` is the base, else the built-in one is."""
    if folders and (folders[0] / "model.yaml").is_file():
        return tuple(folders)
    return (shipped_folder(), *folders)


def load_knowledge(*folders: Path) -> Knowledge:
    """The built-in knowledge base or another one, with overlays in their order. Raises ProblemsFound."""
    knowledge, problems = load(*layers(folders))
    if knowledge is None:
        raise ProblemsFound(problems)
    return knowledge
