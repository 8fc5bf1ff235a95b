"""Text of any origin, made safe for a terminal."""

from __future__ import annotations

from diag.case.scalar import shown

_IN_LINE = {"\n": "\\n", "\t": "\\t"}


def visible(text: str) -> str:
    """``text`` in one line, with every character that would act on the terminal, or hide, written out."""
    line = shown(text)
    for character, written in _IN_LINE.items():
        line = line.replace(character, written)
    return line
