"""The links of an entry with their strengths: what it leads to, what leads to it, what the past says of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from diag.knowledge.lookup import links_to
from diag.knowledge.types import Cause, Effect, Finding, Knowledge, Link, Number
from diag.show.page import Page
from diag.show.words import graded


def add_children(page: Page, knowledge: Knowledge, parent: Cause | Effect) -> None:
    """What ``parent`` alone brings about, and how often."""
    if parent.leads_to:
        page.say("Leads to:", 2)
    for link in parent.leads_to:
        _add_link(page, f"{knowledge.effects[link.child].name} ({link.child})", link, parent)
    if parent.shows:
        page.say("Shows itself by:", 2)
    for link in parent.shows:
        _add_link(page, f"{knowledge.findings[link.child].name} ({link.child})", link, parent)


def add_causes_of(page: Page, knowledge: Knowledge, child: Effect | Finding) -> None:
    """What brings ``child`` about by itself, and how often."""
    found = links_to(knowledge, child.id)
    if found:
        page.say("Comes from:", 2)
    for parent, link in found:
        _add_link(page, f"{parent.name} ({parent.id})", link, parent)


def add_factors(page: Page, knowledge: Knowledge, cause: Cause) -> None:
    """The facts about the past that make ``cause`` likelier or less likely."""
    facts = [fact for fact in knowledge.history.values() if cause.id in fact.factors]
    if facts:
        page.say("The past that goes with it, times likelier to be told:", 2)
    for fact in facts:
        page.say(f"{fact.name} ({fact.id}): {graded(fact.factors[cause.id])}", 4, "-")


def add_strengths(page: Page, name: str, numbers: Mapping[str, Number]) -> None:
    """One number a state, the state named where there are several."""
    for state, number in numbers.items():
        page.say(f"{name}{'' if len(numbers) == 1 else f', {state}'}: {graded(number)}", 2)


def _add_link(page: Page, name: str, link: Link, parent: Cause | Effect) -> None:
    for states, number in _strengths(link, parent):
        page.say(f"{name}{states}: {graded(number)}", 4, "-")


def _strengths(link: Link, parent: Cause | Effect) -> Iterator[tuple[str, Number]]:
    """Each number with its states in words; those of plain yes-and-no links need none."""
    for parent_state, by_child in link.strengths.items():
        for child_state, number in by_child.items():
            when = f" when {parent_state}" if len(parent.states) > 2 else ""
            yield f"{when}{'' if child_state == 'yes' else f', {child_state}'}", number
