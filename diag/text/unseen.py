"""Characters that no file of ours may hold, because nobody sees them on the screen."""

from __future__ import annotations

import re

from diag.text.mark import Mark
from diag.text.problem import Problem

# Everything but tab, line feed and characters that show. The marks that turn the direction of writing
# and the odd line ends go too: with them one line can be made to look like another.
_UNSEEN = re.compile(
    "[^\t\n\x20-\x7e\xa0-\u2027\u202f-\u2065\u206a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]"
)


def unseen_character(text: str) -> str | None:
    """The first character of ``text`` that no file of ours may hold, or None."""
    found = _UNSEEN.search(text)
    return found.group() if found else None


def unseen_in_file(text: str, file: str) -> list[Problem]:
    """The first such character of a file as a problem with its place."""
    found = _UNSEEN.search(text)
    if not found:
        return []
    line = text.count("\n", 0, found.start()) + 1
    column = found.start() - text.rfind("\n", 0, found.start())
    return [unseen_problem(Mark(file, line, column), found.group())]


def unseen_problem(mark: Mark, character: str) -> Problem:
    """The problem that ``character`` stands at ``mark``."""
    message = f"the character U+{ord(character):04X} cannot be seen on the screen."
    return Problem(mark, "control-character", message, "Take it out.")
