"""Options and arguments that several commands share."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import typer

from diag.cli.complete import case_files

KNOWLEDGE_HELP = "Another knowledge base, or an overlay on the built-in one; several are laid over each other in order."


@dataclass(frozen=True, slots=True)
class Globals:
    """What was told before the name of the command."""

    knowledge: list[Path] | None = None


CaseFile = Annotated[
    Path | None,
    typer.Argument(
        metavar="[FILE]",
        help="The case file; may be left out where one case lies in the folder.",
        autocompletion=case_files,
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON object on standard output, nothing else.")]
KnowledgeDir = Annotated[list[Path] | None, typer.Option("--knowledge", metavar="DIR", help=KNOWLEDGE_HELP)]
WithNumbers = Annotated[bool, typer.Option("--numbers", help="Show bits, per cent and scores beside the words.")]
By = Annotated[str, typer.Option("--by", metavar="NAME", help="Who tells it.")]
Note = Annotated[str, typer.Option("--note", metavar="TEXT", help="A remark, kept beside the entry.")]
Shaken = Annotated[
    int | None,
    typer.Option(
        min=20,
        max=2000,
        metavar="N",
        help="Move every estimate within its range N times (200 take some seconds): does the answer stay?",
    ),
]
