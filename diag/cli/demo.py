"""The command ``demo``."""

from __future__ import annotations

import typer


def demo() -> None:
    """Not there yet."""
    raise typer.Exit(2)
