"""ID=STATE texts into entries."""

from __future__ import annotations

import pytest

from diag.case import AccessEntry, Case, Entry, FindingEntry, FittingEntry, OpenedEntry, UndoEntry, as_entries
from diag.knowledge.types import Knowledge

EMPTY = Case("case.yaml", "", (OpenedEntry(opened={}, number=1),))


def told(knowledge: Knowledge, *texts: str, case: Case = EMPTY, **more: object) -> tuple[Entry, ...]:
    entries, problems = as_entries(case, knowledge, texts, **more)  # type: ignore[arg-type]
    assert problems == []
    return entries


def with_entries(*entries: Entry) -> Case:
    numbered = (entry.stamped(n, "", "") for n, entry in enumerate(entries, start=2))
    return Case(EMPTY.file, "", (*EMPTY.entries, *numbered))


@pytest.mark.parametrize(
    ("text", "entry"),
    [
        ("bottom_hose_cold=yes", FindingEntry(finding="bottom_hose_cold", state="yes")),
        ("bottom_hose_cold=Stays  cold", FindingEntry(finding="bottom_hose_cold", state="yes")),
        ("bottom_hose_cold=unsure:stays_cold:0.70", FindingEntry(finding="bottom_hose_cold", state="unsure:yes:0.70")),
        (" bottom_hose_cold = gone ", FindingEntry(finding="bottom_hose_cold", state="gone")),
        ("gauge_reads=normal", FindingEntry(finding="gauge_shows", state="normal")),
        ("older_than_12_years=unsure:yes", FindingEntry(finding="older_than_12_years", state="unsure:yes")),
        ("turbo=no", FittingEntry(fitting="turbo", fitted=False)),
        ("turbo=unknown", FittingEntry(fitting="turbo", fitted=None)),
        ("drained=yes", AccessEntry(access="drained", reached=True)),
    ],
)
def test_an_assignment_is_an_entry(knowledge: Knowledge, text: str, entry: Entry) -> None:
    assert told(knowledge, text) == (entry,)


def test_what_is_said_once_holds_for_all(knowledge: Knowledge) -> None:
    said = {"by": "owner", "note": "on the phone", "when": ("hot",), "with_instrument": "infrared_thermometer"}
    entries = told(knowledge, "bottom_hose_cold=no", "turbo=yes", **said)
    assert entries == (
        FindingEntry(finding="bottom_hose_cold", state="no", **said),  # type: ignore[arg-type]
        FittingEntry(fitting="turbo", fitted=True, by="owner", note="on the phone"),
    )


@pytest.mark.parametrize("text", ["0.3 bar", "-5 C", "<1", "95"])
def test_a_reading_is_kept_as_text_with_a_note(knowledge: Knowledge, text: str) -> None:
    entries, problems = as_entries(EMPTY, knowledge, [f"gauge_shows={text}"])
    assert entries == (FindingEntry(finding="gauge_shows", reading=text),)
    assert [(problem.code, problem.severity) for problem in problems] == [("reading-without-state", "note")]


def test_the_first_finding_that_stands_out_is_the_complaint(knowledge: Knowledge) -> None:
    texts = ("bottom_hose_cold=yes", "gauge_shows=normal", "heater_cold=unsure:yes", "leak_visible=yes")
    marked = [entry.complaint for entry in told(knowledge, *texts) if isinstance(entry, FindingEntry)]
    assert marked == [False, False, True, False]


COMPLAINT = FindingEntry(finding="leak_visible", state="yes", complaint=True)


@pytest.mark.parametrize(
    ("before", "more", "marked"),
    [
        ((COMPLAINT,), {}, False),
        ((COMPLAINT, UndoEntry(undo=2)), {}, True),
        ((COMPLAINT,), {"instead": 2}, True),
    ],
)
def test_a_case_has_one_complaint_in_force(
    knowledge: Knowledge, before: tuple[Entry, ...], more: dict[str, object], marked: bool
) -> None:
    (entry,) = told(knowledge, "heater_cold=yes", case=with_entries(*before), **more)
    assert isinstance(entry, FindingEntry)
    assert entry.complaint is marked


@pytest.mark.parametrize(
    ("text", "column", "code", "words"),
    [
        ("heater_clod=yes", 1, "unknown-id", "Did you mean heater_cold?"),
        ("zzzz=yes", 1, "unknown-id", "diag find"),
        ("thermostat_stuck_open=yes", 1, "wrong-kind", "is a cause"),
        ("heater_cold", 1, "no-assignment", "Write ID=STATE"),
        ("heater_cold=", 1, "no-assignment", "Write ID=STATE"),
        ("=yes", 1, "no-assignment", "Write ID=STATE"),
        ("heater_cold=yess", 13, "unknown-state", "Did you mean yes?"),
        ("bottom_hose_cold=cold", 18, "unknown-state", "yes (stays cold)"),
        ("turbo=yess", 7, "unknown-state", "Did you mean yes?"),
        ("drained=unknown", 9, "unknown-state", "not one of yes, no"),
    ],
)
def test_a_mistake_is_told_with_its_place(knowledge: Knowledge, text: str, column: int, code: str, words: str) -> None:
    entries, problems = as_entries(EMPTY, knowledge, ["leak_visible=yes", text])
    assert entries == ()
    (problem,) = problems
    assert (problem.mark.file, problem.mark.line, problem.mark.column, problem.code) == ("argument", 2, column, code)
    assert words in str(problem)


def test_an_unknown_circumstance_is_told(knowledge: Knowledge) -> None:
    entries, problems = as_entries(EMPTY, knowledge, ["heater_cold=yes"], when=["hto"])
    assert entries == ()
    assert "hot" in problems[0].hint


def test_a_correction_is_one_assignment(knowledge: Knowledge) -> None:
    entries, problems = as_entries(EMPTY, knowledge, ["turbo=yes", "heater_cold=yes"], instead=2)
    assert entries == ()
    assert [problem.code for problem in problems] == ["one-correction"]
