"""What stands around one entry: who brings it about, which tests reveal it, which cautions go with it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from diag.knowledge.types import Cause, Effect, Entry, Knowledge, Link, TestEntry
from diag.knowledge.walk import SECTIONS, links, section


def find_entry(knowledge: Knowledge, id: str) -> tuple[str, Entry] | None:
    """The section and the entry with this id, or with this former id where no entry has it now."""
    for name in SECTIONS:
        if id in section(knowledge, name):
            return name, section(knowledge, name)[id]
    for name in SECTIONS:
        for entry in section(knowledge, name).values():
            if id in entry.formerly:
                return name, entry
    return None


def all_ids(knowledge: Knowledge) -> Iterator[str]:
    """Every id of the base."""
    for name in SECTIONS:
        yield from section(knowledge, name)


def links_to(knowledge: Knowledge, child: str) -> tuple[tuple[Cause | Effect, Link], ...]:
    """What brings about this effect or finding."""
    return tuple((parent, link) for parent, link in links(knowledge) if link.child == child)


def tests_of(knowledge: Knowledge, finding: str) -> tuple[TestEntry, ...]:
    """The tests that reveal this finding."""
    return tuple(test for test in knowledge.tests.values() if finding in test.reveals)


def hazards_of_test(knowledge: Knowledge, test: TestEntry, steps: Iterable[str]) -> tuple[str, ...]:
    """Ways to get hurt in a test and in the access steps that lead to it, each once, those of the steps first."""
    of_steps = [hazard for step in steps for hazard in knowledge.access[step].hazards]
    return tuple(dict.fromkeys([*of_steps, *test.hazards]))
