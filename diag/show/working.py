"""What of a knowledge base works, for the screen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from diag.show.page import Page

SECTIONS = ("causes", "findings", "tests", "questions")


def add_working(page: Page, working: Mapping[str, Any]) -> None:
    """How many of each section work, which do not, and which causes look like another one."""
    page.title("What works")
    for name in SECTIONS:
        idle = working["not_working"][name]
        page.say(f"{name}: {working[name]} of {working[name] + len(idle)}", 2)
        if idle:
            page.say(f"without effect in any case: {', '.join(idle)}", 4)
    for cause, other in working["twins"]:
        page.say(f"{cause} is a twin of {other}: it hides behind that one in its twin case.", 2)


def stale_note(command: str) -> str:
    """Said where nothing was counted for the base as it stands."""
    return f"What works was not counted for this version of the base. Count it (some minutes): {command}"
