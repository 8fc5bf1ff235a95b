"""One entry of the knowledge base: what it is, its numbers and sources, and what it hangs together with."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from diag.knowledge.known import ONE
from diag.knowledge.lookup import links_to, tests_of
from diag.knowledge.types import (
    AccessStep,
    Cause,
    Effect,
    Entry,
    Finding,
    Fitting,
    Hazard,
    HistoryFact,
    Knowledge,
    Lock,
    ModelNumber,
    Number,
    Provenance,
    Reference,
    Repair,
    TestEntry,
)
from diag.show.as_json import plain
from diag.show.entry_links import add_causes_of, add_children, add_factors, add_strengths
from diag.show.page import Page
from diag.show.reading_model import add_reading_model
from diag.show.words import graded


def entry_data(knowledge: Knowledge, section: str, entry: Entry) -> dict[str, Any]:
    """The fields of ``diag show --json``: all that the entry says, and its neighbours by id."""
    told = {"kind": ONE[section], **plain(entry), "file": entry.mark.file, "line": entry.mark.line}
    told["led_to_by"] = [parent.id for parent, _ in links_to(knowledge, entry.id)]
    told["revealed_by"] = [test.id for test in tests_of(knowledge, entry.id)]
    told["provenance"] = [
        {**plain(done), "file": done.mark.file, "line": done.mark.line} for done in _provenance(knowledge, entry)
    ]
    told["cautions"] = [{"hazard": id, "caution": knowledge.hazards[id].caution} for id in _hazards(entry)]
    return told


def entry_page(knowledge: Knowledge, section: str, entry: Entry) -> Page:
    """The entry in words."""
    page = Page()
    page.title(f"{entry.name} ({ONE[section]} {entry.id})")
    for text in (entry.what, getattr(entry, "question", ""), getattr(entry, "caution", "")):
        if text:
            page.say(text, 2)
    if entry.also_called:
        page.say(f"Also called: {', '.join(entry.also_called)}.", 2)
    _add_own(page, knowledge, entry)
    for hazard in _hazards(entry):
        page.say(knowledge.hazards[hazard].caution, 2, "!")
    sources = sorted(_sources(plain(entry)))
    if sources:
        page.title("Sources")
    for source in sources:
        reference = knowledge.references.get(source)
        page.say(f"{source}: {reference.name}; {reference.where}" if reference else source, 2, "-")
    page.blank()
    page.say(f"Written in {entry.mark}.")
    for done in _provenance(knowledge, entry):
        page.say(_done_words(done))
    return page


def _provenance(knowledge: Knowledge, entry: Entry) -> tuple[Provenance, ...]:
    return knowledge.provenance.get(entry.id, ())


def _done_words(done: Provenance) -> str:
    """What an overlay did to the entry, with the place."""
    if done.kind == "added":
        return f"Added by the overlay '{done.overlay}'."
    was = f"was {done.before}" if done.before else "was not told"
    now = f"is {done.after}" if done.after else "is taken out"
    return f"Changed by the overlay '{done.overlay}': {done.field} {now}, {was} ({done.mark})."


def _hazards(entry: Entry) -> tuple[str, ...]:
    own = getattr(entry, "hazards", ())
    repair = getattr(entry, "repair", None)
    return tuple(dict.fromkeys([*own, *(repair.hazards if repair else ())]))


def _sources(told: Any) -> set[str]:
    """Every reference named by a number anywhere in the data of an entry."""
    if isinstance(told, Mapping):
        own = {told["reference"]} if isinstance(told.get("reference"), str) else set()
        return own.union(*(_sources(value) for value in told.values()))
    if isinstance(told, list):
        return set().union(*(_sources(value) for value in told))
    return set()


def _add_own(page: Page, knowledge: Knowledge, entry: Entry) -> None:
    """What only this kind of entry has."""
    match entry:
        case Cause():
            _number(page, "Share of opened cases, as a weight", entry.weight)
            _words(page, "Only where fitted", entry.fitted)
            _words(page, "Only where not fitted", entry.not_fitted)
            page.say(f"Proved so: {entry.proved_by}" if entry.proved_by else "How it is proved is not told.", 2)
            add_children(page, knowledge, entry)
            add_factors(page, knowledge, entry)
            _add_repair(page, entry.repair)
        case Effect():
            page.say(f"A {entry.kind}; states: {', '.join(entry.states)}.", 2)
            add_strengths(page, "With no listed cause behind it", entry.leak)
            if entry.residual:
                _number(page, "Weight of causes of it that are not listed", entry.residual)
            add_causes_of(page, knowledge, entry)
            add_children(page, knowledge, entry)
            _add_repair(page, entry.repair)
        case Finding():
            page.say(f"Record it as: {' | '.join(f'{entry.id}={state}' for state in entry.states)}", 2)
            _words(page, "Means something when", entry.condition)
            add_strengths(page, "False alarm", entry.false_alarm)
            if entry.reading:
                add_reading_model(page, entry, entry.reading)
            if entry.codes:
                told = ", ".join(f"{code} ({state})" for code, state in entry.codes.items())
                page.say(f'Fault codes that tell it: {told}; record them all together: codes="..."', 2)
            _words(page, "Tests that reveal it", [test.id for test in tests_of(knowledge, entry.id)])
            add_causes_of(page, knowledge, entry)
        case TestEntry():
            _add_test(page, entry)
        case HistoryFact():
            page.say(f"Record it as: {entry.id}=yes | {entry.id}=no", 2)
            _number(page, "Told of this share of vehicles", entry.base)
            page.say("Times likelier with the cause:", 2)
            for cause, factor in entry.factors.items():
                page.say(f"{knowledge.causes[cause].name} ({cause}): {graded(factor)}", 4, "-")
        case Fitting():
            _number(page, "Share of vehicles that have it", entry.share)
            if entry.refuses:
                page.say(f"Such a vehicle is outside the scope: {entry.refuses}", 2)
        case AccessStep():
            _number(page, "Minutes", entry.minutes)
            _number(page, "Minutes to undo it", entry.undo_minutes)
            _words(page, "First", entry.needs)
            _words(page, "Cannot be together with", entry.conflicts)
            _words(page, "Gives besides", entry.gives)
            _words(page, "Takes away for good", entry.destroys)
            _words(page, "Takes away while it holds", entry.hides)
            _words(page, "Lets be seen again", entry.brings_back)
            for keep in entry.keep:
                page.say(f"Before it: {keep}", 2)
            _add_harm(page, entry.harm)
        case Lock():
            _words(page, "Bars", (*entry.bars, *entry.tests))
            for finding, states in entry.told.items():
                _words(page, f"While {finding} is", states)
            for effect, number in entry.likely.items():
                _number(page, f"While {effect} is likelier than", number)
            _words(page, "While it is", entry.during)
            for finding, states in entry.unless.items():
                _words(page, f"Not while {finding} is", states)
            _words(page, "Not once this was done", entry.lifted_by)
            page.say(f"Why: {entry.why}", 2)
            page.say(f"Way out: {entry.way_out}", 2)
        case ModelNumber():
            _number(page, "Value", entry.value)
        case Reference():
            page.say(f"Where in it: {entry.where or 'not told'}", 2)
        case Hazard():
            pass  # its caution is all it has, and stands above


def _add_test(page: Page, test: TestEntry) -> None:
    _number(page, "Minutes", test.minutes)
    if test.waiting:
        _number(page, "Minutes that only pass", test.waiting)
    _number(page, "Money", test.money)
    _words(page, "Tools", test.tools)
    _words(page, "First", test.access)
    _words(page, "Only where fitted", test.fitted)
    for place, step in enumerate(test.how, start=1):
        page.say(step, 4, f"{place}.")
    page.say("What it may show:", 2)
    for finding, outcomes in test.outcomes.items():
        for state, looks in outcomes.items():
            page.say(f"{finding}={state} - {looks}", 4, "-")
    if test.misleads:
        page.say(f"What makes it lie: {test.misleads}", 2)
    _add_harm(page, test.harm)


def _add_harm(page: Page, harm: Mapping[str, Number]) -> None:
    for effect, price in harm.items():
        _number(page, f"Price of doing it with {effect}", price)


def _add_repair(page: Page, repair: Repair | None) -> None:
    if repair is None:
        return
    page.say(f"Repair: {repair.name}", 2)
    _number(page, "Minutes", repair.minutes, 4)
    _number(page, "Money", repair.money, 4)
    _number(page, "Succeeds", repair.success, 4)
    _words(page, "First", repair.access, 4)
    for fault, chance in repair.brings_in.items():
        _number(page, f"May bring in {fault}", chance, 4)
    _words(page, "Takes away for good", repair.destroys, 4)


def _number(page: Page, name: str, number: Number, indent: int = 2) -> None:
    page.say(f"{name}: {graded(number)}", indent)


def _words(page: Page, name: str, words: tuple[str, ...] | list[str], indent: int = 2) -> None:
    if words:
        page.say(f"{name}: {', '.join(word.replace('_', ' ') if name == 'Tools' else word for word in words)}", indent)
