"""The job sheet as one page of HTML without script or outside files, or as Markdown. Every text stays text."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from diag.show.as_json import plain
from diag.show.clean import visible
from diag.show.sheet import Sheet
from diag.show.units import with_imperial

FORMS = (".html", ".md")
_TEMPLATES = Path(__file__).with_name("templates")
# What means something in Markdown anywhere, and what begins a list, a heading or a quotation at the start of a line.
_ANYWHERE = re.compile(r"([\\`*_{}\[\]#|~$])")
_AT_START = re.compile(r"^(?=[-+=])|^(\d+)(?=[.)])")
_HTML = {"&": "&amp;", "<": "&lt;", ">": "&gt;"}


def sheet_text(sheet: Sheet, form: str, imperial: bool = False) -> str:
    """The whole sheet; ``form`` is one of FORMS, ``imperial`` asks for imperial figures beside the metric ones."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    page = form == ".html"
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=page,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    units = with_imperial if imperial else str
    made_safe = visible if page else _markdown
    told = _every_text(plain(sheet), lambda text: made_safe(units(text)))
    return re.sub(r"\n{3,}", "\n\n", environment.get_template(f"sheet{form}.j2").render(sheet=told))


def _every_text(told: Any, change: Any) -> Any:
    """Data with ``change`` applied to every text in it, however deep."""
    if isinstance(told, dict):
        return {name: _every_text(value, change) for name, value in told.items()}
    if isinstance(told, list):
        return [_every_text(value, change) for value in told]
    return change(told) if isinstance(told, str) else told


def _markdown(text: str) -> str:
    """``text`` in one line, with all that means something in Markdown or HTML escaped."""
    line = "".join(_HTML.get(character, character) for character in visible(text))
    return _AT_START.sub(lambda found: f"{found[1] or ''}\\", _ANYWHERE.sub(r"\\\1", line))
