"""The command ``report``: the job sheet to hand over."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from diag.cli.opening import answering, program, session_of, write_whole
from diag.cli.options import CaseFile, KnowledgeDir

Out = Annotated[
    Path, typer.Option("--out", "-o", metavar="OUT", help="The file to write, .html or .md; an old one is replaced.")
]


def report(context: typer.Context, out: Out, file: CaseFile = None, knowledge: KnowledgeDir = None) -> None:
    """Write the job sheet to hand over: one page to read on a phone or print on A4, or Markdown.

    For example: diag report van.yaml -o sheet.html
    """
    from diag.show.sheet_text import FORMS, sheet_text

    if out.suffix not in FORMS:
        raise typer.BadParameter(f"the file to write ends in {' or '.join(FORMS)}", param_hint="--out")
    with answering(as_json=False):
        session = session_of(context, file, knowledge, False)
        from datetime import datetime

        from diag.show.sheet import sheet_of

        sheet = sheet_of(session, datetime.now(), program())
        write_whole(out, sheet_text(sheet, out.suffix, session.settings.imperial))
        typer.echo(f"Written: {out}")
