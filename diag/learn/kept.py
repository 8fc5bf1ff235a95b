"""What was counted to work in a knowledge base, kept beside it: counting takes minutes.

The file is keyed by the version of the base it was counted for, and is no part of that version.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from diag.learn.working import WORKING_SECTIONS, Working
from diag.text import write_text

KEPT = "working.json"


def working_data(working: Working, version: str) -> dict[str, Any]:
    """Numbers of what works, and by name what does not; ``knowledge`` is the version counted."""
    return {
        "knowledge": version,
        **{name: len(ids) for name, ids in working.working.items()},
        "twins": [list(pair) for pair in working.twins],
        "not_working": {name: list(ids) for name, ids in working.not_working.items()},
    }


def write_kept(folder: Path, data: dict[str, Any]) -> None:
    """Write the file whole and move it into place. Raises OSError where the folder cannot be written."""
    write_text(folder / KEPT, json.dumps(data, indent=1) + "\n")


def read_kept(folder: Path, version: str) -> dict[str, Any] | None:
    """What was counted for this version of the base; None where nothing was, or it was for another version."""
    try:
        data = json.loads((folder / KEPT).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None  # it can be counted again at any time
    whole = isinstance(data, dict) and data.keys() >= {*WORKING_SECTIONS, "twins", "not_working"}
    return data if whole and data.get("knowledge") == version else None
