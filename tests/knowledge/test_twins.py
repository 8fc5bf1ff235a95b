"""Twin cases: those of the shipped base hold, every cause has its two, and what breaks their rules is told in place."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from diag.knowledge import Knowledge, Told, load
from diag.knowledge.chosen import load_knowledge
from diag.knowledge.validate import validate, validate_folder
from diag.learn.rivals import by_cause
from diag.learn.twin_cases import observed
from diag.learn.working import first_of
from diag.network.case_network import compile_case
from diag.network.diagnosis import Diagnosis

Base = Callable[[str], Path]


@cache
def shipped() -> Knowledge:
    return load_knowledge()


CAUSES = sorted(shipped().causes)


def leader(told: tuple[Told, ...]) -> str:
    observations = observed(shipped(), told)
    assert observations is not None
    diagnosis = Diagnosis(compile_case(shipped(), observations))
    return first_of(by_cause(diagnosis.case, diagnosis.posterior))[0]


def test_every_cause_of_the_shipped_base_has_its_two_cases_and_they_break_no_rule() -> None:
    assert sorted(shipped().twins) == CAUSES
    file = next(iter(shipped().twins.values())).mark.file
    assert [str(problem) for problem in validate(shipped()) if problem.mark.file == file] == []


@pytest.mark.parametrize("cause", CAUSES)
def test_the_cause_comes_first_in_its_own_case(cause: str) -> None:
    twin = shipped().twins[cause]
    if twin.twin_of:
        assert twin.why.endswith(".")
    else:
        assert leader(twin.first) == cause


@pytest.mark.parametrize("cause", CAUSES)
def test_another_cause_comes_first_in_the_case_that_looks_alike(cause: str) -> None:
    twin = shipped().twins[cause]
    assert leader(twin.not_first) == twin.instead


def test_twins_by_nature_are_few() -> None:
    assert sum(1 for twin in shipped().twins.values() if twin.twin_of) <= len(CAUSES) // 10


# --- the rules, on the small base with a second cause ---

BELT = """
  belt_gone:
    name: belt gone
    family: belt
    weight: 2 (1..3) judgement
    leads_to: {flow_weak: 1 common_practice}
"""
GOOD = """\
twins:
  belt_gone:
    first: {gauge: high, turbo: no}
    not_first: {gauge: high, turbo: no, pump_old: yes}
    instead: pump_worn
  pump_worn:
    twin_of: belt_gone
    why: Both stop the flow.
    not_first: {gauge: high}
    instead: belt_gone
"""


@pytest.fixture
def with_twins(small_base: Path, tmp_path: Path) -> Base:
    """A copy of the small base with a second cause at its end, and these twin cases."""

    def write(twins: str) -> Path:
        folder = tmp_path / "base"
        shutil.copytree(small_base, folder)
        (folder / "chapters" / "belt.yaml").write_text("causes:" + BELT, encoding="utf-8", newline="\n")
        (folder / "twins.yaml").write_text(twins, encoding="utf-8", newline="\n")
        return folder

    return write


def test_good_ones_are_read_and_break_nothing(with_twins: Base) -> None:
    knowledge, problems = validate_folder(with_twins(GOOD))
    assert problems == []
    belt, pump = knowledge.twins["belt_gone"], knowledge.twins["pump_worn"]
    assert [(told.id, told.state) for told in belt.first] == [("gauge", "high"), ("turbo", "no")]
    assert (belt.first[0].mark.line, belt.first[0].state_mark.column) == (3, 20)
    assert (belt.instead, belt.twin_of) == ("pump_worn", "")
    assert (pump.first, pump.twin_of, pump.why) == ((), "belt_gone", "Both stop the flow.")


# what stands there, what stands there instead, code, line, column
BROKEN = [
    ("first: {gauge: high, turbo: no}", "first: {gauge: high, pump_noisy: no, turbo: no}", "", 0, 0),
    ("instead: pump_worn", "instead: pump_won", "unknown-id", 5, 14),
    ("instead: belt_gone", "instead: pump_worn", "twin-of-itself", 10, 14),
    ("twin_of: belt_gone", "twin_of: belt_gon", "unknown-id", 7, 14),
    ("first: {gauge: high, turbo: no}", "first: {gauge: high, turbo: no, gage: low}", "unknown-id", 3, 37),
    ("first: {gauge: high, turbo: no}", "first: {gauge: high, turbo: no, head_bent: odd}", "unknown-state", 3, 48),
    ("not_first: {gauge: high}", "not_first: {gauge: hihg}", "unknown-state", 9, 24),
    ("first: {gauge: high, turbo: no}", "first: {gauge: high, turbo: yes}", "twins-not-alike", 2, 3),
    ("why: Both", "first: {gauge: high}\n    why: Both", "twins-not-alike", 6, 3),
    (
        "not_first: {gauge: high}",
        "not_first: {gauge: high, turbo: no, head_bent: no, pump_noisy: no, pump_old: yes, heat: no}",
        "twin-too-long",
        9,
        87,
    ),
]


@pytest.mark.parametrize(("old", "new", "code", "line", "column"), BROKEN)
def test_a_broken_rule_is_told_at_its_place(
    with_twins: Base, old: str, new: str, code: str, line: int, column: int
) -> None:
    assert GOOD.count(old) == 1
    folder = with_twins(GOOD.replace(old, new))
    told = [(p.code, p.mark.line, p.mark.column) for p in validate_folder(folder)[1]]
    assert ((code, line, column) in told) if code else told == []
    assert load(folder)[1] == []  # a slip in a case to try the base by does not keep the base from being used


def test_an_answer_that_belongs_to_the_cause_alone_is_refused(with_twins: Base) -> None:
    own = "first: {gauge: high, pump_noisy: yes, pump_old: yes}"  # noise and age point to the pump and to nothing else
    pump = GOOD.replace("twin_of: belt_gone\n    why: Both stop the flow.", own)
    pump = pump.replace("not_first: {gauge: high}", "not_first: {gauge: high, pump_noisy: yes}")
    told = [(p.code, p.mark.line, p.mark.column, p.severity) for p in validate_folder(with_twins(pump))[1]]
    assert told == [("twin-gives-away", 7, 26, "error"), ("twin-gives-away", 7, 43, "error")]


def test_a_cause_that_both_leads_and_has_a_twin_before_it_is_refused(with_twins: Base) -> None:
    both = GOOD.replace("why: Both", "first: {gauge: high, turbo: no}\n    why: Both")
    both = both.replace("not_first: {gauge: high}", "not_first: {gauge: high, turbo: no}")
    told = [(p.code, p.mark.line, p.mark.column) for p in validate_folder(with_twins(both))[1]]
    assert told == [("twin-and-first", 7, 14)]


def test_a_cause_without_twin_cases_is_a_warning_where_the_base_keeps_them(with_twins: Base) -> None:
    only_pump = "twins:\n" + GOOD[GOOD.index("  pump_worn") :]
    folder = with_twins(only_pump)
    told = [(p.code, Path(p.mark.file).name, p.mark.line, p.severity) for p in validate_folder(folder)[1]]
    assert told == [("cause-without-twins", "belt.yaml", 2, "warning")]


@pytest.mark.parametrize(
    ("old", "new", "code", "line", "column"),
    [
        ("first: {gauge: high, turbo: no}\n    not", "first: gauge\n    not", "wrong-kind", 3, 12),
        ("    instead: pump_worn\n", "", "missing-field", 2, 3),
        ("    why: Both stop the flow.\n", "", "missing-field", 6, 3),
        ("gauge: high}", "gauge: [high]}", "wrong-kind", 9, 24),
        ("twin_of", "twinof", "unknown-field", 7, 5),
    ],
)
def test_what_is_no_twin_case_at_all_is_a_problem_of_reading(
    with_twins: Base, old: str, new: str, code: str, line: int, column: int
) -> None:
    told = [(p.code, p.mark.line, p.mark.column) for p in load(with_twins(GOOD.replace(old, new)))[1]]
    assert (code, line, column) in told
