"""Files written whole: to a new file beside the old one, then moved into its place."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path


def write_text(path: Path, text: str) -> None:
    """Writes ``text`` as UTF-8 with ``\\n`` line ends, all or nothing. Raises OSError where the disk refuses."""
    fresh = path.with_name(f".{path.name}.new")  # one fixed name: a killed writer leaves one file at most
    try:
        with fresh.open("w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        fresh.replace(path)
    finally:
        with suppress(OSError):  # it is gone already where all went well
            fresh.unlink(missing_ok=True)
