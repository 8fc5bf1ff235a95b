"""The command ``repair``: what was put right, now or before the case."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, get_args

import typer

from diag.cli.complete import ids
from diag.cli.opening import answering, case_file, knowledge_of, print_json
from diag.cli.options import AsJson, By, KnowledgeDir, Note

if TYPE_CHECKING:
    pass

HOW = {"usual": "usual", "fine": "fine", "trouble": "with_trouble"}

Put = Annotated[
    list[str],
    typer.Argument(
        metavar="[FILE] ID...",
        help="What was put right: causes, damage, or whole parts.",
        autocompletion=ids("causes", "effects", "parts", files=True),
    ),
]
How = Annotated[str, typer.Option("--how", metavar="WORD", help="How it went: usual, fine, or trouble.")]
Also = Annotated[
    str, typer.Option("--also", metavar="STEP,...", help="What else was disturbed, such as drained,hose_off.")
]
Before = Annotated[bool, typer.Option("--before-case", help="Done before this case, by an earlier owner or workshop.")]
Changed = Annotated[
    str, typer.Option("--changed", metavar="WORD", help="What a repair before the case changed: same, better, gone.")
]


def repair(
    context: typer.Context,
    put: Put,
    how: How = "usual",
    also: Also = "",
    before_case: Before = False,
    changed: Changed = "",
    by: By = "",
    note: Note = "",
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Record a repair: a new stage begins.

    For example: diag repair van.yaml thermostat_stuck_closed --how fine
    """
    file, ids = _apart(put)
    if how not in HOW:
        raise typer.BadParameter(f"{how!r} is not one of {', '.join(HOW)}.", param_hint="--how")
    _check_changed(changed, before_case)
    with answering(as_json):
        from diag.case import RepairEntry, entry_problems, extend
        from diag.case.record import ARGUMENT
        from diag.text import Mark, ProblemsFound

        path = case_file(file, as_json)
        base = knowledge_of(context, knowledge)
        told: dict[str, Any] = {"how_well": HOW[how], "changed": changed or "not_told"}
        disturbed = tuple(word.strip() for word in also.split(",") if word.strip())
        entry = RepairEntry(
            repair=tuple(ids),
            disturbed=disturbed,
            before_case=before_case,
            by=by,
            note=note,
            mark=Mark(ARGUMENT, 1, 1),
            **told,
        )
        problems = entry_problems(entry, base)
        if problems:
            raise ProblemsFound(problems)
        case = extend(path, lambda _: [entry], knowledge=base.version)
        number = case.last_number
        from diag.show.repair import repair_data, repair_page

        if as_json:
            print_json(repair_data(base, case.file, entry, number))
        else:
            repair_page(base, entry, number).print()


def _apart(put: Sequence[str]) -> tuple[Path | None, list[str]]:
    """The file, where the first argument is one, and the rest."""
    first = Path(put[0])
    if first.is_file() or first.suffix:
        if len(put) == 1:
            raise typer.BadParameter("say what was put right, such as thermostat_stuck_closed.", param_hint="ID")
        return first, list(put[1:])
    return None, list(put)


def _check_changed(changed: str, before_case: bool) -> None:
    from diag.case import Changed as Words

    words = [word for word in get_args(Words) if word != "not_told"]
    if changed and not before_case:
        raise typer.BadParameter("only a repair before the case has changed something yet.", param_hint="--changed")
    if changed and changed not in words:
        raise typer.BadParameter(f"{changed!r} is not one of {', '.join(words)}.", param_hint="--changed")
