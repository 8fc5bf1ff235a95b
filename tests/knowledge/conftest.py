"""A small base that is in order, and ways to spoil it."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

SMALL_BASE = Path(__file__).parent / "small_base"


@pytest.fixture
def small_base() -> Path:
    return SMALL_BASE


@pytest.fixture
def spoiled(tmp_path: Path) -> Callable[[str, str, str], Path]:
    """A copy of the small base in which one text of one file, which stands there once, is replaced."""

    def spoil(file: str, old: str, new: str) -> Path:
        folder = tmp_path / "base"
        shutil.copytree(SMALL_BASE, folder)
        path = folder / file
        text = path.read_text(encoding="utf-8")
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {file}"
        path.write_text(text.replace(old, new), encoding="utf-8", newline="\n")
        return folder

    return spoil
