"""Sheets of the worked cases, half way and closed, and the text of a page as a reader would find it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from functools import cache
from html.parser import HTMLParser

from diag.case import AccessEntry, Case, ConfirmedEntry, FindingEntry, RepairEntry, UndoEntry, as_entries, load
from diag.case.entry import Entry
from diag.cli.demo_play import cases_folder, names, read_play
from diag.knowledge.types import Knowledge
from diag.session import Session, load_knowledge
from diag.show.sheet import Sheet, sheet_of
from diag.show.sheet_text import sheet_text

NOW = datetime(2024, 6, 1, 9, 30)
NAMES = names(cases_folder())


@cache
def knowledge() -> Knowledge:
    return load_knowledge()


def more(case: Case, *entries: Entry) -> Case:
    """The case with further entries, numbered and dated."""
    last = case.last_number
    told = (e.stamped(last + n, "2024-06-01T09:00:00Z", "") for n, e in enumerate(entries, start=1))
    return replace(case, entries=(*case.entries, *told))


@cache
def closed(name: str) -> Session:
    """The worked case with all its steps, confirmed."""
    play = read_play(cases_folder(), name)
    case = load(play.case)
    for step in play.steps:
        case = more(case, *as_entries(case, knowledge(), step.assignments)[0])
    return Session.of(more(case, ConfirmedEntry(confirmed=play.confirmed, seen=play.seen)), knowledge())


@cache
def half_way(name: str) -> Session:
    """The worked case after its first step, something apart, something taken back, something of the past repaired."""
    play = read_play(cases_folder(), name)
    case = load(play.case)
    case = more(case, *as_entries(case, knowledge(), play.steps[0].assignments)[0])
    slip = FindingEntry(finding="wet_carpet", state="yes", note="wrong vehicle")
    case = more(case, slip)
    case = more(case, UndoEntry(undo=case.last_number), AccessEntry(access="drained", reached=True))
    case = more(case, RepairEntry(repair=("cap_weak",), before_case=True, note="new cap"))
    return Session.of(case, knowledge())


def sheet(session: Session) -> Sheet:
    return sheet_of(session, NOW, "diag 0.0")


@cache
def page(session: Session, form: str = ".html") -> str:
    return sheet_text(sheet(session), form)


class Read(HTMLParser):
    """Tags in their order with their attributes, and the text between them."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.pieces: list[str] = []
        self.hidden = 0
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self.hidden += tag == "style"

    def handle_endtag(self, tag: str) -> None:
        self.hidden -= tag == "style"

    def handle_data(self, data: str) -> None:
        if not self.hidden:
            self.pieces.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.pieces).split())
