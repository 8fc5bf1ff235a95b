"""Theories of a case: from the words of a command to an entry, and from the log to those in force."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from diag.case.check import entry_problems
from diag.case.entry import Case, TheoryEntry
from diag.case.ids import id_problem, ids_of
from diag.case.in_force import in_force
from diag.case.record import ARGUMENT
from diag.case.scalar import shown
from diag.knowledge.types import Cause, Effect, Knowledge
from diag.text import Mark, Problem

NOT = "not:"


def read_theory(
    knowledge: Knowledge, words: Sequence[str], *, by: str = "", note: str = ""
) -> tuple[TheoryEntry | None, list[Problem]]:
    """The entry that ``words`` tell, or the problems, sorted.

    One of them is the id of a cause, the initiating one; effects that followed are told by their ids, causes and
    effects that are not there as ``not:ID``.
    """
    ids, problems = ids_of(knowledge), []
    causes: list[str] = []
    followed: list[str] = []
    absent: list[str] = []
    for line, word in enumerate(words, start=1):
        id = word.removeprefix(NOT).strip()
        problem = id_problem(ids, id, (Cause, Effect), Mark(ARGUMENT, line, 1 + word.find(id)))
        if problem:
            problems.append(problem)
            continue
        room = absent if word.startswith(NOT) else causes if isinstance(ids[id], Cause) else followed
        room.append(ids[id].id)
    problems += [] if problems else _not_one_cause(causes, words)
    if problems:
        return None, sorted(problems)
    mark = Mark(ARGUMENT, 1, 1)
    effects, missing = tuple(dict.fromkeys(followed)), tuple(dict.fromkeys(absent))
    entry = TheoryEntry(theory=causes[0], followed=effects, absent=missing, by=by, note=note, mark=mark)
    problems = entry_problems(entry, knowledge)
    return (None if problems else entry), problems


def theories(case: Case, knowledge: Knowledge) -> tuple[TheoryEntry, ...]:
    """The theories in force that ``knowledge`` knows all ids of, with present ids, in the order of the log."""
    ids = ids_of(knowledge)
    return tuple(
        replace(
            entry,
            theory=ids[entry.theory].id,
            followed=tuple(ids[told].id for told in entry.followed),
            absent=tuple(ids[told].id for told in entry.absent),
        )
        for entry in in_force(case)
        if isinstance(entry, TheoryEntry) and not entry_problems(entry, knowledge)
    )


def _not_one_cause(causes: Sequence[str], words: Sequence[str]) -> list[Problem]:
    if len(causes) == 1:
        return []
    if not causes:
        message = f"'{shown(' '.join(words))}' names no cause that began it."
    else:
        message = f"a theory has one cause that began it, here are {len(causes)}: {', '.join(causes)}."
    hint = "Give one cause, effects that followed, and what is not there as not:ID; try rivals one after the other."
    return [Problem(Mark(ARGUMENT, 1, 1), "one-cause", message, hint)]
