"""The command ``diag``: one thin function a command, in a module of its own or with its nearest kin.

A command parses what was typed, calls a function below, shows the answer and sets the exit code. What is heavy to
import is imported inside the commands, so that no command pays for another.
"""

from __future__ import annotations

import sys
from io import TextIOWrapper
from typing import Annotated

import typer

from diag.cli.causes import causes, next_
from diag.cli.demo import demo
from diag.cli.entries import find, show
from diag.cli.evaluate import evaluate
from diag.cli.export import export
from diag.cli.interview import interview
from diag.cli.learn import learn
from diag.cli.new import new
from diag.cli.opening import program
from diag.cli.options import Globals, KnowledgeDir
from diag.cli.ready import ready
from diag.cli.record import confirm, record, undo
from diag.cli.repair import repair
from diag.cli.report import report
from diag.cli.settings import settings
from diag.cli.simulate import simulate
from diag.cli.solve import solve
from diag.cli.status import status
from diag.cli.theory import theory
from diag.cli.tree import tree
from diag.cli.validate import validate
from diag.cli.why import why

app = typer.Typer(
    name="diag",
    help="Finds what is wrong with an engine's cooling system, by questions and tests. It advises; the trade decides.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

for command in (
    demo,
    new,
    interview,
    record,
    status,
    undo,
    causes,
    next_,
    why,
    tree,
    theory,
    repair,
    ready,
    confirm,
    settings,
    find,
    show,
    validate,
    report,
    export,
    evaluate,
    learn,
    simulate,
    solve,
):
    app.command(command.__name__.rstrip("_"))(command)


def _tell_version(wanted: bool) -> None:
    if wanted:
        from diag.text import yaml_engine

        typer.echo(f"{program()}, YAML read by {yaml_engine()}")
        raise typer.Exit


Version = Annotated[
    bool, typer.Option("--version", callback=_tell_version, is_eager=True, help="Tell version and YAML reader.")
]


@app.callback()
def _globals(context: typer.Context, knowledge: KnowledgeDir = None, version: Version = False) -> None:
    context.obj = Globals(knowledge)
    assert not version, "telling the version ends the program before this"


def main() -> None:
    """Run the command line; a character that the terminal cannot show is replaced, never an error."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")
    app()


if __name__ == "__main__":
    main()
