"""The settings of a case."""

from __future__ import annotations

from typing import Any

from diag.plan import Settings
from diag.show.as_json import plain
from diag.show.page import Page

_WORDS = {
    "hour": "price of an hour of own work",
    "waiting_hour": "price of an hour that only passes",
    "attention_minutes": "what every step costs besides its own minutes, in minutes",
    "certainty": "probability of the leader at which testing may stop",
    "least_gain": "bits below which nothing is proposed",
    "missing_tool": "price of a tool that is not at hand",
    "ending": "price of ending it without finding the cause: another engine, a workshop",
    "bit_worth": "what a bit of information may cost that can be had now or never",
    "tools": "tools at hand",
    "units": "si, or imperial to see imperial figures beside the metric ones",
}


def settings_data(settings: Settings) -> dict[str, Any]:
    """The fields of ``diag settings --json``; ``tools`` null where all are taken to be at hand."""
    return {"settings": plain(settings)}


def settings_page(file: str, settings: Settings) -> Page:
    """One setting a line."""
    page = Page()
    page.title(f"Settings of {file}")
    for name, words in _WORDS.items():
        value = getattr(settings, name)
        page.say(f"{name}={_shown(value)} - {words}", 2)
    page.say("Set one: diag settings FILE NAME=VALUE; tools=any takes all tools to be at hand.")
    return page


def _shown(value: float | str | frozenset[str] | None) -> str:
    if isinstance(value, frozenset):
        return ",".join(sorted(value)) or "none"
    if isinstance(value, str):
        return value
    return "any" if value is None else f"{value:g}"
