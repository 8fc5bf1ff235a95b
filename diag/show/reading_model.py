"""How a finding is told by a figure: what to record, how the figure is judged, with numbers and sources."""

from __future__ import annotations

from collections.abc import Mapping

from diag.knowledge.types import Finding, Number, ReadingModel, Spread
from diag.show.page import Page
from diag.show.words import graded

# What a reading of each form looks like when it is typed; {unit} is that of its model.
EXAMPLES: Mapping[str, str] = {
    "value": "1.2 {unit}",
    "difference": "92 78 C",
    "drop": "0.15 bar in 10 min, 50 to 45 C, dry",
    "rise": "4.2 to 6.8 bar",
    "mix": "-25 C",
    "cylinders": "8.1 8.0 4.2 4.4 bar",
}


def example(model: ReadingModel) -> str:
    """A reading as one types it: ``compression="8.1 8.0 4.2 4.4 bar"``."""
    return f'{model.short}="{EXAMPLES[model.form].format(unit=model.unit)}"'


def add_reading_model(page: Page, finding: Finding, model: ReadingModel) -> None:
    """The reading section of a finding in words."""
    page.say(f"Or record the figure itself, in any usual unit: {example(model)}", 2)
    if model.limit:
        name = model.limit_from or model.short
        page.say(f"Mark: {graded(model.limit)} {model.unit}; your manual's wins: spec.{name}", 4)
    scale = "of the value" if model.relative else model.unit
    page.say(f"Error of the instrument ({scale}): {graded(model.error)}", 4)
    page.say(f"Scatter of each reading ({scale}): {graded(model.scatter)}", 4)
    for state in finding.states:
        if state in model.values:
            of = "marks" if model.limit else model.unit
            page.say(f"{state}, true value ({of}): {_spread(model.values[state])}", 4, "-")
    for name, number in model.figures.items():
        page.say(f"{name.replace('_', ' ')}: {graded(number)}", 4, "-")


def _spread(spread: Spread) -> str:
    told: list[tuple[str, Number]] = list(spread.numbers.items())
    return f"{spread.shape}; " + "; ".join(f"{name} {graded(number)}" for name, number in told)
