"""The command ``status``: the case at a glance."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from diag.cli.meant import meant_in
from diag.cli.opening import answering, case_file, knowledge_of, print_json
from diag.cli.options import AsJson, CaseFile, KnowledgeDir

if TYPE_CHECKING:
    from diag.case import Case
    from diag.knowledge.types import Knowledge
    from diag.network.observations import Observations


def status(
    context: typer.Context, file: CaseFile = None, knowledge: KnowledgeDir = None, as_json: AsJson = False
) -> None:
    """Show the case at a glance: entries numbered, where the vehicle stands, what is open.

    For example: diag status van.yaml
    """
    with answering(as_json):
        from diag.case import load, replay
        from diag.show.case import status_data, status_page
        from diag.show.readings import add_readings, readings_data

        case = load(case_file(file, as_json))
        base = knowledge_of(context, knowledge)
        seen, problems = replay(case, base)
        told = (case, base, seen, _stage(case), _open_questions(base, seen), problems)
        meant = meant_in(case, base)
        if as_json:
            print_json({**status_data(*told), "readings": readings_data(meant)})
        else:
            page = status_page(*told)
            add_readings(page, base, meant)
            page.print()
        if any(problem.severity == "error" for problem in problems):
            raise typer.Exit(1)


def _stage(case: Case) -> int:
    """A repair starts a stage, unless it was done before the case began."""
    from diag.case import RepairEntry, in_force

    return 1 + sum(isinstance(entry, RepairEntry) and not entry.before_case for entry in in_force(case))


def _open_questions(knowledge: Knowledge, seen: Observations) -> int:
    asked = {look.finding for look in (*seen.looks, *seen.history)} | seen.gone
    questions = [*(f.id for f in knowledge.findings.values() if f.ask), *knowledge.history]
    return sum(question not in asked for question in questions)
