"""Whether probabilities keep their word, as JSON and as tables."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from diag.learn.calibration import Calibration
from diag.show.as_json import plain
from diag.show.page import Page

_WIDTHS = (14, 9, 9, 9, 14)


def calibration_data(told: Mapping[str, Calibration]) -> dict[str, Any]:
    """The field ``calibration`` of ``diag evaluate --json``."""
    return {name: plain(one) for name, one in told.items()}


def add_calibration(page: Page, told: Mapping[str, Calibration]) -> None:
    """One table a set of answers: what was said, what was seen, and how far chance alone takes them apart."""
    for name, one in told.items():
        page.title(f"{name}: {one.n} cases, Brier score {one.brier:.3f}, loss {one.log_loss:.2f} bits")
        page.say(_row("said", "answers", "mean", "true", "chance alone"), 2)
        for line in one.table:
            said = f"{line.low:.2f} to {line.high:.2f}"
            page.say(_row(said, str(line.count), f"{line.said:.3f}", f"{line.seen:.3f}", f"+- {2 * line.error:.3f}"), 2)


def _row(*cells: str) -> str:
    return "".join(f"{cell:<{width}}" for cell, width in zip(cells, _WIDTHS, strict=True)).rstrip()
