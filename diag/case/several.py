"""What tells several findings at once: all fault codes of a reader, temperatures at several places."""

from __future__ import annotations

from collections.abc import Iterator

from diag.case.entry import FindingEntry
from diag.case.ids import Ids
from diag.case.measured import findings_of
from diag.case.scalar import shown
from diag.measure.fault_codes import read_codes, state_told
from diag.measure.misread import Refused
from diag.measure.temperatures import differences_told
from diag.text import Mark, Problem

CODES, TEMPERATURES = "codes", "temperatures"


def tells_several(name: str, ids: Ids) -> bool:
    """Whether ``name`` stands for several findings; an id of that name goes before."""
    return name in (CODES, TEMPERATURES) and name not in ids


def several(name: str, value: str, ids: Ids, mark: Mark) -> Iterator[FindingEntry | Problem]:
    """The entries that ``value`` tells, or what is wrong with it."""
    try:
        yield from _codes(value, ids, mark) if name == CODES else _temperatures(value, ids, mark)
    except Refused as refused:
        told = refused.misread
        yield Problem(mark, "wrong-reading", f"{name}: {shown(told.message)}", shown(told.hint))


def _codes(value: str, ids: Ids, mark: Mark) -> Iterator[FindingEntry | Problem]:
    codes = read_codes(value)
    findings = [finding for finding in findings_of(ids) if finding.codes]
    for finding in findings:
        told = " ".join(code for code in codes if code in finding.codes)
        marks = {"finding": mark, "state": mark, "reading": mark}
        state = state_told(finding, codes)
        yield FindingEntry(finding=finding.id, state=state, reading=told, mark=mark, marks=marks)
    unknown = [code for code in codes if not any(code in finding.codes for finding in findings)]
    if unknown:
        message = f"{', '.join(unknown)}: no finding here goes by it, so it counts for nothing."
        yield Problem(mark, "unused-code", message, "It is kept in your note only: add --note.", "note")


def _temperatures(value: str, ids: Ids, mark: Mark) -> Iterator[FindingEntry | Problem]:
    for finding, reading in differences_told(findings_of(ids), value).items():
        yield FindingEntry(finding=finding, reading=reading, mark=mark, marks={"finding": mark, "reading": mark})
