"""The command ``new``: opens a case."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from diag.cli.complete import assignments, several_ids
from diag.cli.opening import answering, fail, knowledge_of, print_json
from diag.cli.options import AsJson, By, KnowledgeDir, Note

if TYPE_CHECKING:
    from diag.case import Case, FindingEntry
    from diag.knowledge.types import Finding, Knowledge
    from diag.text import Problem

Fitted = Annotated[
    list[str],
    typer.Option("--fitted", metavar="ID,...", help="What the vehicle has.", autocompletion=several_ids("fittings")),
]
NotFitted = Annotated[
    list[str],
    typer.Option("--not-fitted", metavar="ID,...", help="What it has not.", autocompletion=several_ids("fittings")),
]
Complaint = Annotated[
    str, typer.Option(metavar="ID[=STATE]", help="The finding that brought it in.", autocompletion=assignments)
]
Vehicle = Annotated[str, typer.Option(metavar="NAME", help="What the vehicle is called; else the name of the file.")]


def new(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The case file to be made.")],
    fitted: Fitted = [],  # noqa: B006 - typer copies it
    not_fitted: NotFitted = [],  # noqa: B006
    complaint: Complaint = "",
    vehicle: Vehicle = "",
    by: By = "",
    note: Note = "",
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Open a case in a new file; what is not said of the vehicle is "don't know".

    For example: diag new van.yaml --fitted electric_fan --complaint overheats_standing
    """
    from diag.case import create, extend

    fittings = _fittings(fitted, not_fitted)
    with answering(as_json):
        base = knowledge_of(context, knowledge)
        problems = [*_fitting_problems(base, fittings)]
        told, wrong = _complaint(base, complaint) if complaint else (None, [])
        if problems or wrong:
            fail([*problems, *wrong], as_json)
        case = create(file, vehicle or file.stem, fittings, knowledge=base.version, by=by, note=note)
        if told:
            entry = replace(told, by=by)
            case = extend(file, lambda _: [entry], knowledge=base.version)
        _tell(case, base, as_json)


def _fittings(fitted: Sequence[str], not_fitted: Sequence[str]) -> dict[str, bool]:
    has, lacks = _ids(fitted), _ids(not_fitted)
    both = [id for id in has if id in lacks]
    if both:
        raise typer.BadParameter(f"{both[0]!r} cannot be fitted and not fitted at once.", param_hint="--not-fitted")
    return dict.fromkeys(has, True) | dict.fromkeys(lacks, False)


def _ids(told: Sequence[str]) -> list[str]:
    return [id.strip() for text in told for id in text.split(",") if id.strip()]


def _fitting_problems(knowledge: Knowledge, fittings: Mapping[str, bool]) -> Iterator[Problem]:
    from diag.case import OpenedEntry, entry_problems
    from diag.case.record import ARGUMENT
    from diag.cli.refusal import refusals
    from diag.text import Mark

    yield from entry_problems(OpenedEntry(opened=fittings, mark=Mark(ARGUMENT, 1, 1)), knowledge)
    yield from refusals(knowledge, fittings)


def _complaint(knowledge: Knowledge, told: str) -> tuple[FindingEntry | None, list[Problem]]:
    """The entry of the complaint ``ID`` or ``ID=STATE``; a bare ID means its only state that stands out."""
    from diag.case import Case, FindingEntry, as_entries
    from diag.case.ids import ids_of
    from diag.knowledge.types import Finding

    known = ids_of(knowledge).get(told.strip())
    if isinstance(known, Finding):
        if len(known.states) > 2:
            return None, [_which_state(known)]
        told = f"{known.id}={known.states[-1]}"
    elif "=" not in told:
        told = f"{told}=yes"
    entries, problems = as_entries(Case("", "", ()), knowledge, [told])
    if not entries:
        return None, problems
    entry = entries[0]
    if not isinstance(entry, FindingEntry) or not _stands_out(knowledge, entry):
        return None, [_no_complaint(told)]
    return replace(entry, complaint=True), []


def _stands_out(knowledge: Knowledge, entry: FindingEntry) -> bool:
    """Whether it tells a finding that is out of the ordinary, for certain or not."""
    from diag.case import Fault, read_answer

    finding = knowledge.findings.get(entry.finding)
    if finding is None or not entry.state:
        return False
    answer = read_answer(entry.state, finding.states, finding.words)
    return not isinstance(answer, Fault) and answer.state not in ("", finding.states[0])


def _which_state(finding: Finding) -> Problem:
    from diag.case.record import ARGUMENT
    from diag.text import Mark, Problem

    known = ", ".join(f"{finding.id}={state}" for state in finding.states[1:])
    message = f"'{finding.id}' does not say which of its states it is."
    return Problem(Mark(ARGUMENT, 1, 1), "no-assignment", message, f"Write one of {known}.")


def _no_complaint(told: str) -> Problem:
    from diag.case.record import ARGUMENT
    from diag.text import Mark, Problem

    hint = "Name a finding and its state, such as heater_cold=yes."
    return Problem(Mark(ARGUMENT, 1, 1), "no-complaint", f"'{told}' is nothing that brings a vehicle in.", hint)


def _tell(case: Case, knowledge: Knowledge, as_json: bool) -> None:
    from diag.show.case import add_entry, entry_data
    from diag.show.page import Page

    if as_json:
        entries = [entry_data(entry, True) for entry in case.entries]
        print_json({"file": case.file, "vehicle": case.vehicle, "entries": entries})
        return
    page = Page()
    page.title(f"Case opened: {case.file}")
    for entry in case.entries:
        add_entry(page, entry, True, knowledge)
    page.say("Go on: diag next, or diag record ID=STATE ... ('diag find WORDS' gives the ids).")
    page.print()
