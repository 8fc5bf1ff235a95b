"""The command ``export``: the case's network for other engines."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from diag.cli.opening import answering, session_of
from diag.cli.options import CaseFile, KnowledgeDir

Out = Annotated[Path, typer.Option("--out", "-o", metavar="OUT.bif", help="The file to write; an old one is replaced.")]


def export(context: typer.Context, out: Out, file: CaseFile = None, knowledge: KnowledgeDir = None) -> None:
    """Write the case's network as BIF, its evidence beside it in OUT.evidence.json.

    For example: diag export van.yaml -o van.bif
    """
    if out.suffix != ".bif":
        raise typer.BadParameter("the file to write ends in .bif", param_hint="--out")
    with answering(as_json=False):
        session = session_of(context, file, knowledge, False)
        for written in session.export(out):
            typer.echo(f"Written: {written}")
