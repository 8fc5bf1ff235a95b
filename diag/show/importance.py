"""How much each cause matters, as a small table in lines."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from diag.explain.fault_tree import Importance
from diag.show.page import Page

MOST = 10
MEASURES = (
    ("birnbaum", "Birnbaum"),
    ("criticality", "criticality"),
    ("fussell_vesely", "Fussell-Vesely"),
    ("raw", "RAW"),
    ("rrw", "RRW"),
)


def add_importance(page: Page, found: Sequence[Importance], name: Callable[[str], str]) -> None:
    """The most critical ones with all their measures."""
    page.title("Importance, the most critical first")
    for place, one in enumerate(found[:MOST], start=1):
        told = (f"{words} {_figure(getattr(one, field))}" for field, words in MEASURES)
        page.say(f"{name(one.cause)} ({one.cause}): {', '.join(told)}", 1, f"{place}.")
    if len(found) > MOST:
        page.say(f"{len(found) - MOST} more: --json.", 1)
    page.say(
        "Birnbaum: how much likelier the event is with the cause than without. Criticality: the part of the event that "
        "would go with the cause. Fussell-Vesely: the part in which a cut set with the cause is there in full. RAW: "
        "how many times likelier with the cause there for certain. RRW: how many times rarer without it.",
        1,
    )


def _figure(value: float | None) -> str:
    return "not defined" if value is None else f"{value:.4g}"
