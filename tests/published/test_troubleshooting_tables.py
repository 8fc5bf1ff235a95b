"""Published troubleshooting tables against the list of likely causes of the shipped base.

Our causes are finer than the lines of a table, so our list is read as the table would print it: causes that belong to
one line count as that line, every other cause as a line of its own. Two laws, for a table of k lines:

- recall: among the first k + 3 lines of our list are at least two thirds of the table's (rounded up). Three lines are
  left for what the table forgets; a table of one line so asks that it stands among our first four.
- nobody laughs: the first line of our list is one of the table's.

A table that says something else than another one of the same sign carries ``differs``; it must go on failing.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import ceil
from pathlib import Path

import pytest
import yaml

from diag.knowledge import Told
from diag.knowledge.chosen import load_knowledge
from diag.knowledge.types import Knowledge
from diag.learn.rivals import by_cause
from diag.learn.twin_cases import observed
from diag.network.case_network import NOTHING_WRONG, UNLISTED_ID, compile_case
from diag.network.diagnosis import Diagnosis
from diag.text import Mark

FILE = Path(__file__).with_name("troubleshooting_tables.yaml")
SPARE = 3  # lines of ours that a table may leave out
NOWHERE = Mark(FILE.name, 1, 1)


@dataclass(frozen=True)
class Published:
    """One symptom of a published table: its lines are the causes of the base that each can mean."""

    id: str
    source: str
    told: tuple[Told, ...]
    lines: tuple[frozenset[str], ...]
    differs: str


@cache
def shipped() -> Knowledge:
    return load_knowledge()


def read() -> list[Published]:
    # BaseLoader: every scalar stays text, so that "yes" and "no" stay the names of states
    file = yaml.load(FILE.read_text(encoding="utf-8"), yaml.BaseLoader)
    groups = file["groups"]
    return [
        Published(
            id=table["id"],
            source=file["sources"][table["source"]]["name"],
            told=tuple(Told(id_, state, NOWHERE, NOWHERE) for id_, state in table["told"].items()),
            lines=tuple(frozenset(groups[line] if isinstance(line, str) else line) for line in table["lines"]),
            differs=table.get("differs", ""),
        )
        for table in file["tables"]
    ]


TABLES = read()
HELD = [table for table in TABLES if not table.differs]


def as_printed(table: Published) -> list[int | str]:
    """Our list, best first: the number of the table's line for what belongs to one, else the cause itself."""
    observations = observed(shipped(), table.told)
    assert observations is not None, "the base has not all that is told"
    diagnosis = Diagnosis(compile_case(shipped(), observations))
    ranked = by_cause(diagnosis.case, diagnosis.posterior)
    printed: list[int | str] = []
    for cause in sorted(set(ranked) - {UNLISTED_ID, NOTHING_WRONG}, key=lambda cause: -ranked[cause]):
        line = next((n for n, causes in enumerate(table.lines) if cause in causes), cause)
        if line not in printed:
            printed.append(line)
    return printed


def found_lines(table: Published) -> int:
    return sum(isinstance(line, int) for line in as_printed(table)[: len(table.lines) + SPARE])


def holds(table: Published) -> bool:
    return found_lines(table) >= ceil(2 * len(table.lines) / 3) and isinstance(as_printed(table)[0], int)


def test_there_are_enough_tables_from_enough_sources() -> None:
    assert len(TABLES) >= 40
    assert len({table.source for table in TABLES}) >= 15
    assert len({table.id for table in TABLES}) == len(TABLES)


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.id)
def test_a_table_names_what_the_base_has_and_no_cause_in_two_lines(table: Published) -> None:
    named = [cause for line in table.lines for cause in line]
    assert set(named) <= set(shipped().causes)
    assert len(named) == len(set(named))


@pytest.mark.parametrize("table", HELD, ids=lambda table: table.id)
def test_two_thirds_of_the_published_causes_stand_in_front(table: Published) -> None:
    assert found_lines(table) >= ceil(2 * len(table.lines) / 3), as_printed(table)[:10]


@pytest.mark.parametrize("table", HELD, ids=lambda table: table.id)
def test_our_first_line_is_one_that_the_table_lists(table: Published) -> None:
    assert isinstance(as_printed(table)[0], int), as_printed(table)[:5]


def test_where_tables_differ_we_still_side_with_the_other() -> None:
    differing = [table for table in TABLES if table.differs]
    assert len(differing) <= len(TABLES) // 10
    assert not any(holds(table) for table in differing)
