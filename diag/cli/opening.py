"""Which case and which knowledge base a command works on, and how what is wrong with them is told."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import typer

from diag.cli.options import Globals

if TYPE_CHECKING:
    from diag.knowledge.types import Knowledge
    from diag.session import Session
    from diag.text import Problem

_SIGN = re.compile(rb"^diag_case:", re.MULTILINE)
_HEAD = 4096  # bytes at the top of a file in which the sign of a case stands


@contextmanager
def answering(as_json: bool) -> Iterator[None]:
    """Tells the problems of the data that stop the command inside, and exits with 1."""
    from diag.text import ProblemsFound

    try:
        yield
    except ProblemsFound as error:
        fail(error.problems, as_json)
    except ValueError as error:
        fail([_too_much(error)], as_json)


def _too_much(error: ValueError) -> Problem:
    """That a case ties too much together to be answered exactly; any other error is raised again."""
    from diag.case.record import ARGUMENT
    from diag.network.plan import CliqueTooLarge
    from diag.text import Mark, Problem

    if not isinstance(error, CliqueTooLarge):
        raise error
    hint = "Nothing was guessed. Take back what is doubtful: diag status, diag undo."
    message = f"what was recorded ties too much together to be answered exactly: {error}."
    return Problem(Mark(ARGUMENT, 1, 1), "too-much-together", message, hint)


def fail(problems: tuple[Problem, ...] | list[Problem], as_json: bool, **more: Any) -> NoReturn:
    """Tell the problems, ``more`` fields beside them under --json, and exit with 1."""
    from diag.show.page import Page
    from diag.show.problems import add_problems, problems_data

    if as_json:
        print_json({"problems": problems_data(problems), **more})
    else:
        page = Page()
        add_problems(page, problems)
        page.print(typer.get_text_stream("stderr"))
    raise typer.Exit(1)


def print_json(answer: dict[str, Any]) -> None:
    """One JSON object on standard output."""
    from diag.show.as_json import to_json

    typer.echo(to_json(answer))


def folders_of(context: typer.Context, told: Sequence[Path] | None) -> list[Path]:
    """The folders of knowledge named after the command or, where none is, before it."""
    before = context.obj.knowledge if isinstance(context.obj, Globals) else None
    return list(told or before or ())


def knowledge_of(context: typer.Context, told: Sequence[Path] | None) -> Knowledge:
    """The knowledge base named after the command or before it, or the built-in one. Raises ProblemsFound."""
    from diag.knowledge.chosen import load_knowledge

    return load_knowledge(*folders_of(context, told))


def case_file(told: Path | None, as_json: bool) -> Path:
    """The case file told, or the only case in the folder, and then it is said which; else wrong use."""
    if told is not None:
        return told
    found = _cases_here()
    if len(found) == 1:
        from diag.show.clean import visible

        typer.echo(f"Case: {visible(found[0].name)} (the only one in this folder)", err=as_json)
        return found[0]
    raise typer.BadParameter(_which_case(found), param_hint="FILE")


def case_if_any(told: Path | None, as_json: bool) -> Path | None:
    """As ``case_file``, where an answer without a case is an answer too: None where none lies in the folder."""
    return case_file(told, as_json) if told is not None or _cases_here() else None


def _cases_here() -> list[Path]:
    files = (path for path in sorted(Path().iterdir()) if path.suffix in (".yaml", ".yml") and path.is_file())
    return [path for path in files if _is_case(path)]


def _is_case(path: Path) -> bool:
    try:
        with path.open("rb") as stream:
            return _SIGN.search(stream.read(_HEAD)) is not None
    except OSError:
        return False  # a file that nobody can read is not the one meant


def _which_case(found: list[Path]) -> str:
    from diag.show.clean import visible

    if not found:
        return "no case lies in this folder; name its file, or open one: diag new FILE."
    return f"several cases lie in this folder: {', '.join(visible(path.name) for path in found)}. Name one."


def session_of(context: typer.Context, told: Path | None, knowledge: Sequence[Path] | None, as_json: bool) -> Session:
    """The case with all that it says. Raises ProblemsFound; impossible evidence is told, and ends the command."""
    from diag.session import Session

    path = case_file(told, as_json)
    session = Session.open(path, knowledge_of(context, knowledge))
    if not session.diagnosis.probability_of_evidence > 0:
        from diag.show.contradiction import contradiction_data, contradiction_problem

        fail([contradiction_problem(session)], as_json, contradiction=contradiction_data(session))
    return session


def program() -> str:
    """The program and its version."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return f"diag {version('diag')}"
    except PackageNotFoundError:
        return "diag (not installed)"


def write_whole(path: Path, text: str) -> None:
    """Writes a file whole, in UTF-8, and moves it into place. Raises ProblemsFound where that cannot be."""
    from diag.text import Mark, Problem, ProblemsFound, write_text

    try:
        write_text(path, text)
    except OSError as error:
        message = f"the file cannot be written: {error.strerror or error}."
        raise ProblemsFound(
            [Problem(Mark(path.as_posix(), 1, 1), "not-written", message, "Nothing was changed.")]
        ) from error
