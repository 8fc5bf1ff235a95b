"""The command ``export``: the case's network for other engines."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from diag.cli.opening import answering, session_of
from diag.cli.options import CaseFile, KnowledgeDir

Out = Annotated[
    Path,
    typer.Option(
        "--out", "-o", metavar="OUT", help="The file to write, .bif, .dot or .graphml; an old one is replaced."
    ),
]


def export(context: typer.Context, out: Out, file: CaseFile = None, knowledge: KnowledgeDir = None) -> None:
    """Write the case's network as BIF, its evidence beside it in OUT.evidence.json; or its structure alone.

    The structure, which node leads to which, is written as DOT or GraphML.

    For example: diag export van.yaml -o van.bif
    """
    if out.suffix not in (".bif", ".dot", ".graphml"):
        raise typer.BadParameter("the file to write ends in .bif, .dot or .graphml", param_hint="--out")
    with answering(as_json=False):
        session = session_of(context, file, knowledge, False)
        for written in session.export(out) if out.suffix == ".bif" else (session.export_structure(out),):
            typer.echo(f"Written: {written}")
