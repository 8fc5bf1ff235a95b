"""Nothing acknowledged is ever lost: recorders killed at random times, and two that write at once."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from diag.case import create, load

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
KILLS = 200
EACH = 200

pytestmark = pytest.mark.skipif(os.name != "posix", reason="fork and SIGKILL are needed")


def _start(program: str, *arguments: object) -> subprocess.Popen[str]:
    search = os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")]).rstrip(os.pathsep)
    command = [sys.executable, str(HERE / program), *map(str, arguments)]
    return subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": search}
    )


def _output(process: subprocess.Popen[str]) -> str:
    out, error = process.communicate(timeout=120)
    assert process.returncode == 0, error
    return out


def test_after_each_of_200_kills_the_file_holds_what_was_acknowledged(tmp_path: Path) -> None:
    told = [json.loads(line) for line in _output(_start("record_and_be_killed.py", tmp_path, KILLS, 1)).splitlines()]
    assert len(told) == KILLS
    for kill in told:
        assert kill["problem"] == ""
        assert kill["kept"]
        assert kill["added"] - kill["acknowledged"] in (0, 1), kill
        assert kill["scraps"] <= 1
    assert sum(kill["acknowledged"] for kill in told) >= KILLS // 4  # the recorders did get to work


def test_two_writers_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "case.yaml"
    create(path, "grey tractor", {}, knowledge="k1")
    writers = [_start("record_many.py", path, who, EACH) for who in ("left", "right")]
    for writer in writers:
        _output(writer)
    entries = load(path).entries
    assert [entry.number for entry in entries] == list(range(1, 2 * EACH + 2))
    for who in ("left", "right"):
        assert [entry.note for entry in entries if entry.by == who] == [str(n) for n in range(EACH)]
