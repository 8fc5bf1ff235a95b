"""The commands that add to a case: ``record``, ``undo`` and ``confirm``."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from diag.cli.complete import assignments, ids
from diag.cli.meant import meant_in
from diag.cli.opening import answering, case_file, knowledge_of, print_json
from diag.cli.options import AsJson, By, CaseFile, KnowledgeDir, Note

if TYPE_CHECKING:
    from diag.case import Case, Entry
    from diag.knowledge.types import Knowledge
    from diag.text import Problem

Told = Annotated[
    list[str],
    typer.Argument(
        metavar="[FILE] ID=STATE...",
        autocompletion=assignments,
        help="What was seen: ID=STATE, ID=unsure:STATE, ID=unsure:STATE:0.7, ID=gone, or a reading, ID='0.3 bar'.",
    ),
]
Confirmed = Annotated[
    list[str],
    typer.Argument(
        metavar="[FILE] ID|not_found",
        help="The confirmed cause, or not_found.",
        autocompletion=ids("causes", before=("not_found",), files=True),
    ),
]
Instead = Annotated[int | None, typer.Option(min=1, metavar="N", help="Correct entry N.")]
With = Annotated[str, typer.Option("--with", metavar="INSTRUMENT", help="The instrument it was seen with.")]
When = Annotated[
    str, typer.Option(metavar="WORD,...", help="Circumstances when it was seen, such as hot,running, or unknown.")
]


def record(
    context: typer.Context,
    told: Told,
    instead: Instead = None,
    by: By = "",
    note: Note = "",
    with_instrument: With = "",
    when: When = "",
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Record what was seen. The same finding again is a second look.

    For example: diag record van.yaml fan_silent_hot=yes coolant_level_seen=unsure:low
    """
    file, assignments = _apart(told)
    if not assignments:
        raise typer.BadParameter("say what was seen: ID=STATE, such as heater_cold=yes.", param_hint="ID=STATE")
    words = [word.strip() for word in when.split(",") if word.strip()]
    with answering(as_json):
        from diag.case import as_entries, extend

        path = case_file(file, as_json)
        base = knowledge_of(context, knowledge)

        def draw_up(case: Case) -> Sequence[Entry]:
            entries, problems = as_entries(
                case, base, assignments, by=by, note=note, with_instrument=with_instrument, when=words, instead=instead
            )
            _refuse([*problems, *_outside(base, entries)])
            count.append(len(entries))
            notes.extend(problem for problem in problems if problem.code == "unused-code")
            return entries

        count: list[int] = []
        notes: list[Problem] = []
        case = extend(path, draw_up, knowledge=base.version)
        _tell(case, count[-1], base, as_json, notes)


def undo(
    context: typer.Context,
    file: CaseFile = None,
    entry: Annotated[int | None, typer.Option(min=1, metavar="N", help="Entry N instead of the last one.")] = None,
    by: By = "",
    note: Note = "",
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Take the last entry back, by a new entry.

    For example: diag undo van.yaml
    """
    with answering(as_json):
        from diag.case import UndoEntry, extend

        path = case_file(file, as_json)
        base = knowledge_of(context, knowledge)

        def draw_up(case: Case) -> Sequence[Entry]:
            return [UndoEntry(undo=entry or _last(case), by=by, note=note)]

        _tell(extend(path, draw_up, knowledge=base.version), 1, base, as_json)


def confirm(
    context: typer.Context,
    told: Confirmed,
    seen: Annotated[str, typer.Option(metavar="TEXT", help="How it was seen.")] = "",
    good: Annotated[str, typer.Option(metavar="ID,...", help="Causes or whole parts that turned out good.")] = "",
    by: By = "",
    note: Note = "",
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Record the confirmed cause, and how it was seen; not_found closes the case without one.

    For example: diag confirm van.yaml fan_supply_fault --seen "fuse blown"
    """
    if len(told) > 2 or (len(told) == 1 and Path(told[0]).is_file()):
        raise typer.BadParameter("name one cause, or not_found.", param_hint="ID|not_found")
    with answering(as_json):
        from diag.case import ConfirmedEntry, entry_problems, extend
        from diag.case.record import ARGUMENT
        from diag.text import Mark

        path = case_file(Path(told[0]) if len(told) == 2 else None, as_json)
        base = knowledge_of(context, knowledge)
        sound = tuple(word.strip() for word in good.split(",") if word.strip())
        place = Mark(ARGUMENT, 1, 1)
        entry = ConfirmedEntry(confirmed=told[-1], seen=seen, good=sound, by=by, note=note, mark=place)
        _refuse(entry_problems(entry, base))
        _tell(extend(path, lambda _: [entry], knowledge=base.version), 1, base, as_json)


def _apart(told: Sequence[str]) -> tuple[Path | None, list[str]]:
    """The file, where the first argument is one, and the rest."""
    if "=" in told[0] and not Path(told[0]).is_file():
        return None, list(told)
    return Path(told[0]), list(told[1:])


def _refuse(problems: Sequence[Problem]) -> None:
    from diag.text import ProblemsFound

    errors = [problem for problem in problems if problem.severity == "error"]
    if errors:
        raise ProblemsFound(errors)


def _outside(knowledge: Knowledge, entries: Sequence[Entry]) -> list[Problem]:
    from diag.case import FittingEntry
    from diag.cli.refusal import refusals

    return list(refusals(knowledge, {e.fitting: e.fitted for e in entries if isinstance(e, FittingEntry)}))


def _last(case: Case) -> int:
    from diag.case import last_in_force
    from diag.text import Mark, Problem, ProblemsFound

    entry = last_in_force(case)
    if entry is None:
        message = "there is no entry to take back."
        raise ProblemsFound([Problem(Mark(case.file, 1, 1), "nothing-to-undo", message, "")])
    return entry.number


def _tell(case: Case, count: int, knowledge: Knowledge, as_json: bool, more: Sequence[Problem] = ()) -> None:
    """The last ``count`` entries, what readings among them were taken to mean, and what is to be said of them."""
    from diag.case import entry_problems
    from diag.show.case import add_entry, entry_data
    from diag.show.page import Page
    from diag.show.problems import add_problems, problems_data
    from diag.show.readings import add_readings, readings_data

    entries = case.entries[len(case.entries) - count :]
    notes = [*(problem for entry in entries for problem in entry_problems(entry, knowledge)), *more]
    numbers = {entry.number for entry in entries}
    meant = [told for told in meant_in(case, knowledge) if numbers.intersection(told.entries)]
    if as_json:
        recorded = [entry_data(entry, True) for entry in entries]
        told = {"recorded": recorded, "readings": readings_data(meant), "problems": problems_data(notes)}
        print_json({"file": case.file, **told})
        return
    page = Page()
    page.say("Recorded:")
    for entry in entries:
        add_entry(page, entry, True, knowledge)
    add_readings(page, knowledge, meant)
    add_problems(page, notes)
    page.print()
