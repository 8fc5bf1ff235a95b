"""The command ``settings``: hourly values, tools at hand, certainty wanted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from diag.cli.complete import setting_names
from diag.cli.opening import answering, case_file, knowledge_of, print_json
from diag.cli.options import AsJson, By, KnowledgeDir, Note

if TYPE_CHECKING:
    from diag.case import SettingEntry
    from diag.knowledge.types import Knowledge

Told = Annotated[
    list[str] | None,
    typer.Argument(
        metavar="[FILE] [NAME=VALUE...]",
        help="What to set; nothing: show the settings of the case.",
        autocompletion=setting_names,
    ),
]


def settings(
    context: typer.Context,
    told: Told = None,
    by: By = "",
    note: Note = "",
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Show or set what an hour costs, what ending it costs, tools at hand (tools=a,b), how sure is sure enough.

    For example: diag settings van.yaml hour=40 tools=multimeter,test_lamp
    """
    file, assignments = _apart(told or [])
    with answering(as_json):
        from diag.case import extend, load
        from diag.plan.told import settings_of
        from diag.show.settings import settings_data, settings_page
        from diag.text import ProblemsFound

        path = case_file(file, as_json)
        if assignments:
            base = knowledge_of(context, knowledge)
            entries = list(_entries(assignments, base, by, note))
            case = extend(path, lambda _: entries, knowledge=base.version)
        else:
            case = load(path)
        now, problems = settings_of(case)
        if problems:
            raise ProblemsFound(problems)
        if as_json:
            print_json({"file": case.file, **settings_data(now)})
        else:
            settings_page(case.file, now).print()


def _apart(told: Sequence[str]) -> tuple[Path | None, list[str]]:
    if not told or ("=" in told[0] and not Path(told[0]).is_file()):
        return None, list(told)
    return Path(told[0]), list(told[1:])


def _entries(assignments: Sequence[str], base: Knowledge, by: str, note: str) -> Iterator[SettingEntry]:
    """One entry for each NAME=VALUE. Raises ProblemsFound where one cannot be taken."""
    from diag.case import SettingEntry
    from diag.case.record import ARGUMENT
    from diag.plan import Settings
    from diag.plan.told import changed_by
    from diag.text import Mark, Problem, ProblemsFound

    for line, text in enumerate(assignments, start=1):
        name, equals, value = (part.strip() for part in text.partition("="))
        if not equals or not value:
            raise typer.BadParameter(f"write NAME=VALUE instead of {text!r}.", param_hint="NAME=VALUE")
        entry = SettingEntry(setting=name, value=value, by=by, note=note, mark=Mark(ARGUMENT, line, 1))
        changed = changed_by(Settings(), entry, base)
        if isinstance(changed, Problem):
            raise ProblemsFound([changed])
        yield entry
