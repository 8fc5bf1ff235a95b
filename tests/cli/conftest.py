"""A knowledge base of four causes, an empty folder to work in, and the commands run inside this process."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from diag.cli.main import app

TINY_BASE = Path(__file__).parent / "tiny_base"


@dataclass(frozen=True)
class Ran:
    """What a command left behind."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


Run = Callable[..., Ran]


@pytest.fixture
def tiny_base() -> Path:
    return TINY_BASE


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder, the working one."""
    here = tmp_path / "garage"
    here.mkdir()
    monkeypatch.chdir(here)
    return here


@pytest.fixture
def run(folder: Path) -> Run:
    """Run ``diag`` with the tiny knowledge base, or with ``base``."""
    assert folder.is_dir()

    def run(*arguments: str, base: Path = TINY_BASE) -> Ran:
        result = CliRunner().invoke(app, ["--knowledge", str(base), *arguments])
        if result.exception and not isinstance(result.exception, SystemExit):
            raise result.exception
        return Ran(result.exit_code, result.stdout, result.stderr)

    return run


@pytest.fixture
def hot(run: Run) -> str:
    """A case whose gauge is in the red; the name of its file."""
    assert run("new", "hot.yaml", "--complaint", "gauge=high").code == 0
    return "hot.yaml"


@pytest.fixture
def strict_base(tmp_path: Path) -> Path:
    """The tiny base in which a hose that splits always drips, and nothing else does: evidence can be impossible."""
    copy = tmp_path / "strict"
    shutil.copytree(TINY_BASE, copy)
    chapter = copy / "chapters" / "pump.yaml"
    text = chapter.read_text(encoding="utf-8")
    for old, new in (
        ("puddle: 0.8 (0.6..0.9) judgement", "puddle: 1 common_practice"),
        ("false_alarm: 0.03 (0.01..0.1) judgement", "false_alarm: 0 common_practice"),
        ("coolant_low: 0.9 (0.8..0.97) judgement", "coolant_low: 1 common_practice"),
        ("level_low: 0.9 (0.8..0.97) judgement", "level_low: 1 common_practice"),
    ):
        assert text.count(old) == 1
        text = text.replace(old, new)
    chapter.write_text(text, encoding="utf-8", newline="\n")
    return copy
