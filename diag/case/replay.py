"""The log of a case into what the network takes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from diag.case.answer import Answer, mixed, read_answer
from diag.case.check import answer_words, problems_of
from diag.case.circumstance import Circumstances
from diag.case.entry import (
    Case,
    ConfirmedEntry,
    Entry,
    FindingEntry,
    FittingEntry,
    OpenedEntry,
    RepairEntry,
    SettingEntry,
)
from diag.case.ids import Ids, ids_of
from diag.case.in_force import in_force, reference_problems
from diag.case.measured import Measured, checked_instruments, look_of, measured, shared_instruments, vehicle_in
from diag.case.repairs import earlier, mended, sound
from diag.case.standing import lost, standing
from diag.knowledge.types import Finding, HistoryFact, Knowledge
from diag.network.observations import Look, Observations
from diag.text import Problem


def replay(case: Case, knowledge: Knowledge) -> tuple[Observations, list[Problem]]:
    """What counts in ``case``, and what in it ``knowledge`` does not know, sorted.

    An entry that has a problem is left out of the observations; all others are in.
    """
    observations, problems = observe(in_force(case), knowledge)
    return observations, sorted(reference_problems(case) + problems)


def observe(entries: Iterable[Entry], knowledge: Knowledge) -> tuple[Observations, list[Problem]]:
    """As ``replay``, for ``entries`` that are all in force, in their order."""
    ids, circumstances = ids_of(knowledge), Circumstances.of(knowledge)
    sound, problems = _sound(entries, ids, circumstances)
    return _observations(sound, ids, circumstances, knowledge), sorted(problems)


def readings_in(case: Case, knowledge: Knowledge) -> tuple[Measured, ...]:
    """The readings that count in ``case``, those of one finding together, in the order of the log."""
    ids, circumstances = ids_of(knowledge), Circumstances.of(knowledge)
    sound, _ = _sound(in_force(case), ids, circumstances)
    return tuple(measured(tuple(_with_stage(sound)), ids, circumstances).values())


def _sound(entries: Iterable[Entry], ids: Ids, circumstances: Circumstances) -> tuple[list[Entry], list[Problem]]:
    """The entries that nothing is wrong with, and what is wrong with the others."""
    entries = tuple(entries)
    vehicle = vehicle_in(entries, ids)
    told = [(entry, problems_of(entry, ids, circumstances, vehicle)) for entry in entries]
    return [entry for entry, found in told if not found], [problem for _, found in told for problem in found]


def settings(case: Case) -> Mapping[str, str]:
    """The settings of the case, the last word on each."""
    return {entry.setting: entry.value for entry in in_force(case) if isinstance(entry, SettingEntry)}


def _observations(entries: list[Entry], ids: Ids, circumstances: Circumstances, knowledge: Knowledge) -> Observations:
    staged = tuple(_with_stage(entries))
    readings = measured(staged, ids, circumstances)
    first = {told.entries[0].number: told for told in readings.values()}
    checks = checked_instruments(entries, readings.values())
    shared = shared_instruments(readings.values(), checks)
    looks = [
        (
            ids[entry.finding],
            look_of(first[entry.number], shared, stage)
            if entry.number in first
            else _look(entry, ids, circumstances, stage),
        )
        for stage, entry in staged
        if isinstance(entry, FindingEntry) and (entry.state or entry.number in first)
    ]
    repairs = [(stage, entry) for stage, entry in staged if isinstance(entry, RepairEntry)]
    last = {look.finding: look for _, look in looks}
    present = 1 + sum(not entry.before_case for _, entry in repairs)
    return Observations(
        looks=tuple(look for asked, look in looks if isinstance(asked, Finding)),
        history=tuple(look for asked, look in looks if isinstance(asked, HistoryFact)),
        fitted=_fitted(entries, ids),
        gone=frozenset(id for id, look in last.items() if look.likelihood is None and _holds(look, ids, present))
        | lost(entries, ids),
        confirmed=_confirmed(entries, ids),
        access=standing(entries, ids),
        checks=checks,
        vehicle=vehicle_in(entries, ids),
        mended=tuple(mended(e, stage, ids, knowledge) for stage, e in repairs if not e.before_case),
        earlier=(
            *(earlier(e, ids, knowledge) for _, e in repairs if e.before_case),
            *(sound(e.good, ids, knowledge) for e in entries if isinstance(e, ConfirmedEntry) and e.good),
        ),
    )


def _with_stage(entries: Iterable[Entry]) -> Iterator[tuple[int, Entry]]:
    """Each entry with its stage; a repair stands in the stage that it begins."""
    stage = 1
    for entry in entries:
        stage += isinstance(entry, RepairEntry) and not entry.before_case
        yield stage, entry


def _look(entry: FindingEntry, ids: Ids, circumstances: Circumstances, stage: int) -> Look:
    asked = ids[entry.finding]
    assert isinstance(asked, Finding | HistoryFact)
    answer = read_answer(entry.state, asked.states, answer_words(asked))
    assert isinstance(answer, Answer)
    condition = asked.condition if isinstance(asked, Finding) else ()
    trust = circumstances.trust(entry.when, condition)
    likelihood = None if answer.likelihood is None else mixed(answer.likelihood, trust)
    return Look(asked.id, likelihood, entry.complaint, entry.number, trust, stage)


def _holds(look: Look, ids: Ids, present: int) -> bool:
    """What is gone stays so until a repair; the past stays as it was."""
    return look.stage == present or isinstance(ids[look.finding], HistoryFact)


def _fitted(entries: Iterable[Entry], ids: Ids) -> Mapping[str, bool]:
    told: dict[str, bool | None] = {}
    for entry in entries:
        if isinstance(entry, OpenedEntry):
            told |= {ids[fitting].id: has for fitting, has in entry.opened.items()}
        elif isinstance(entry, FittingEntry):
            told[ids[entry.fitting].id] = entry.fitted
    return {fitting: has for fitting, has in told.items() if has is not None}


def _confirmed(entries: Iterable[Entry], ids: Ids) -> str | None:
    told = [entry.confirmed for entry in entries if isinstance(entry, ConfirmedEntry)]
    return (ids[told[-1]].id if told[-1] in ids else told[-1]) if told else None
