"""The worked cases: written by our own functions, true to the knowledge base, and convincing step by step."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from functools import cache
from pathlib import Path

import pytest

from diag.case import Case, FindingEntry, OpenedEntry, append, as_entries, create, load
from diag.cli.demo_play import ASK, EXPECTED, Play, PlayStep, cases_folder, names, read_play
from diag.knowledge.types import Knowledge
from diag.session import Session, load_knowledge

NAMES = names(cases_folder())
CLEARLY = 5.0  # times as likely as the next one at the end


@cache
def knowledge() -> Knowledge:
    return load_knowledge()


@cache
def play(name: str) -> Play:
    return read_play(cases_folder(), name)


def after(case: Case, step: PlayStep) -> Case:
    entries, problems = as_entries(case, knowledge(), step.assignments)
    assert problems == []
    told = (entry.stamped(case.last_number + n, "", "") for n, entry in enumerate(entries, start=1))
    return replace(case, entries=(*case.entries, *told))


@cache
def sessions(name: str) -> tuple[Session, ...]:
    """At the complaint, and after each step."""
    cases = [load(play(name).case)]
    for step in play(name).steps:
        cases.append(after(cases[-1], step))
    return tuple(Session.of(case, knowledge()) for case in cases)


def probability(session: Session, cause: str) -> float:
    return next(c.probability for c in session.causes.causes if c.id == cause)


def test_there_are_at_least_three_over_different_subsystems() -> None:
    assert len(NAMES) >= 3
    assert len({knowledge().causes[play(name).confirmed].chapter for name in NAMES}) >= 3


def test_every_case_has_what_is_expected_of_it_and_nothing_else_lies_there() -> None:
    wanted = {f"{name}{end}" for name in NAMES for end in (".yaml", EXPECTED)}
    assert {path.name for path in cases_folder().glob("*.yaml")} == wanted


@pytest.mark.parametrize("name", NAMES)
def test_the_case_is_as_our_own_functions_write_it(name: str, tmp_path: Path) -> None:
    there = load(play(name).case)
    opened, complaint = there.entries[0], there.entries[1:]
    assert isinstance(opened, OpenedEntry)
    copy = tmp_path / "copy.yaml"
    version, times = opened.knowledge, [datetime.fromisoformat(entry.time) for entry in there.entries[:2]]
    case = create(copy, there.vehicle, opened.opened, knowledge=version, now=times[0])
    told = [f"{finding}={state}" for finding, state in play(name).complaint.items()]
    entries, problems = as_entries(case, knowledge(), told)
    assert problems == []
    append(copy, entries, knowledge=complaint[0].knowledge, now=times[1])
    assert copy.read_bytes() == play(name).case.read_bytes()


@pytest.mark.parametrize("name", NAMES)
def test_the_case_holds_its_complaint_and_no_more(name: str) -> None:
    told = [entry for entry in load(play(name).case).entries if isinstance(entry, FindingEntry)]
    assert {entry.finding: entry.state for entry in told} == play(name).complaint
    assert [entry.complaint for entry in told] == [True] + [False] * (len(told) - 1)


@pytest.mark.parametrize("name", NAMES)
def test_every_step_tells_what_its_test_reveals(name: str) -> None:
    for step in play(name).steps:
        if step.step == ASK:
            assert all(f in knowledge().history or knowledge().findings[f].ask for f in step.answers)
        else:
            assert set(step.answers) <= set(knowledge().tests[step.step].reveals)


@pytest.mark.parametrize("name", NAMES)
def test_every_test_of_the_play_is_proposed_when_it_is_done(name: str) -> None:
    for before, step in zip(sessions(name), play(name).steps, strict=False):
        assert step.step == ASK or step.step in {test.id for test in before.ranking.tests}


@pytest.mark.parametrize("name", NAMES)
def test_the_true_cause_rises_with_every_step_and_ends_clearly_first(name: str) -> None:
    truth = play(name).confirmed
    course = [probability(session, truth) for session in sessions(name)]
    assert course == sorted(course)
    first, second = sessions(name)[-1].causes.causes[:2]
    assert first.id == truth
    assert first.probability > CLEARLY * second.probability


@pytest.mark.parametrize("name", NAMES)
def test_some_other_cause_is_in_the_way_at_first_or_much_is_open(name: str) -> None:
    assert probability(sessions(name)[0], play(name).confirmed) < 0.75


@pytest.mark.parametrize("name", NAMES)
def test_it_tells_how_the_cause_was_seen_and_why_it_convinces(name: str) -> None:
    told = play(name)
    assert all(len(text) > 40 for text in (told.story, told.seen, told.convincing))
