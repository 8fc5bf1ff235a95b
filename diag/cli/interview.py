"""The command ``interview``."""

from __future__ import annotations

import typer


def interview() -> None:
    """Not there yet."""
    raise typer.Exit(2)
