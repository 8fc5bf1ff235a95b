"""What a search found."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from diag.knowledge.search import Hit
from diag.show.as_json import plain
from diag.show.page import Page


def hits_data(hits: Sequence[Hit]) -> dict[str, Any]:
    """The fields of ``diag find --json``."""
    return {"hits": plain(hits)}


def hits_page(hits: Sequence[Hit]) -> Page:
    """One hit a line, the best first."""
    page = Page()
    for hit in hits:
        page.say(f"{hit.id} - {hit.name} ({hit.kind})")
    if hits:
        page.blank()
        page.say("More of one: diag show ID.")
    else:
        page.say("Nothing like it is known. Try fewer or other words.")
    return page
