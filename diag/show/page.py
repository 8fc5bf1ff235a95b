"""A page for the terminal: one column of lines, wrapped, with hanging indents; plain ASCII of our own."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import IO

from diag.show.clean import visible
from diag.show.units import with_imperial

WIDEST = 96  # longer lines are hard to read, however wide the terminal is


@dataclass(frozen=True, slots=True)
class Line:
    """``marker`` (a number, a dash) stands before the text, ``indent`` blanks before both."""

    text: str = ""
    indent: int = 0
    marker: str = ""
    style: str = ""


@dataclass(slots=True)
class Page:
    """Lines in the order they were added. Every text is made safe here, so that no caller can forget it.

    imperial: whether figures that are told have imperial ones beside them.
    """

    lines: list[Line] = field(default_factory=list)
    imperial: bool = False

    def title(self, text: str) -> None:
        """A heading, with a blank line before it unless it is the first."""
        if self.lines:
            self.blank()
        self.lines.append(Line(visible(text), style="bold"))

    def say(self, text: str, indent: int = 0, marker: str = "", style: str = "") -> None:
        """A paragraph; what does not fit goes on below its first word."""
        self.lines.append(Line(visible(text), indent, visible(marker), style))

    def tell(self, text: str, indent: int = 0, marker: str = "") -> None:
        """A paragraph of the knowledge base or of a reading, its figures in the units wanted."""
        self.say(with_imperial(text) if self.imperial else text, indent, marker)

    def blank(self) -> None:
        """An empty line."""
        self.lines.append(Line())

    def print(self, to: IO[str] | None = None) -> None:
        """Write the page to standard output, or ``to`` another stream; colour only where there is a terminal."""
        from rich.console import Console
        from rich.text import Text

        console = Console(file=to, markup=False, highlight=False, emoji=False)
        width = min(console.width, WIDEST)
        for line in self.lines:
            first = " " * line.indent + (f"{line.marker} " if line.marker else "")
            wrapped = Text(line.text).wrap(console, max(width - len(first), 20))
            for place, part in enumerate(wrapped or [Text()]):
                lead = first if place == 0 else " " * len(first)
                console.print(Text((lead + part.plain).rstrip(), line.style), soft_wrap=True)
