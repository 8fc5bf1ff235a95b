"""The command ``why``: what raised a cause, what lowered it, and what would turn the ranking over."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from diag.cli.complete import ids
from diag.cli.opening import answering, print_json, session_of
from diag.cli.options import AsJson, KnowledgeDir, WithNumbers

if TYPE_CHECKING:
    from diag.session import Session

Asked = Annotated[
    list[str],
    typer.Argument(
        metavar="[FILE] ID",
        help="A cause; also unlisted, or nothing_wrong.",
        autocompletion=ids("causes", before=("unlisted", "nothing_wrong"), files=True),
    ),
]


def why(
    context: typer.Context,
    asked: Asked,
    numbers: WithNumbers = False,
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Say why a cause is likely or not, and what would turn the ranking over.

    For example: diag why van.yaml fan_motor_dead
    """
    file, id = _apart(asked)
    with answering(as_json):
        session = session_of(context, file, knowledge, as_json)
        answer = session.why(_cause(session, id))
        from diag.show.why import why_data, why_page

        if as_json:
            print_json(why_data(session, answer))
        else:
            why_page(session, answer, numbers).print()


def _apart(asked: Sequence[str]) -> tuple[Path | None, str]:
    if len(asked) > 2 or (len(asked) == 1 and Path(asked[0]).is_file()):
        raise typer.BadParameter("name one cause.", param_hint="ID")
    return (Path(asked[0]) if len(asked) == 2 else None), asked[-1]


def _cause(session: Session, id: str) -> str:
    """The present id of what was asked about. Raises ProblemsFound where it is no cause of this vehicle."""
    from diag.case.ids import id_problem, ids_of
    from diag.case.record import ARGUMENT
    from diag.knowledge.types import Cause
    from diag.network.case_network import UNLISTED_ID
    from diag.text import Mark, Problem, ProblemsFound

    states = session.diagnosis.states
    if id in states or id == UNLISTED_ID:
        return id
    mark, ids = Mark(ARGUMENT, 1, 1), ids_of(session.knowledge)
    problem = id_problem(ids, id, (Cause,), mark)
    if problem is None and ids[id].id in states:
        return ids[id].id
    message = f"{id} cannot be in this vehicle, as it is fitted."
    raise ProblemsFound([problem or Problem(mark, "cannot-be", message, "See what is fitted: diag status.")])
