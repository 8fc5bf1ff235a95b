"""The command ``ready``: what is still open before the first start."""

from __future__ import annotations

from typing import Annotated

import typer

from diag.cli.opening import answering, print_json, session_of
from diag.cli.options import AsJson, CaseFile, KnowledgeDir, WithNumbers

Repairs = Annotated[
    list[str] | None, typer.Option("--repair", metavar="ID", help="What if this were put right? May be given again.")
]
Findings = Annotated[
    list[str] | None, typer.Option("--finding", metavar="ID=STATE", help="What if this were seen? May be given again.")
]


def ready(
    context: typer.Context,
    file: CaseFile = None,
    repair: Repairs = None,
    finding: Findings = None,
    numbers: WithNumbers = False,
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Before the first start: what may come back, what is still open, gate by gate.

    What if, without touching the file: --repair and --finding.

    For example: diag ready van.yaml --repair head_gasket --finding oil_milky=no
    """
    with answering(as_json):
        session = session_of(context, file, knowledge, as_json)
        supposed = bool(repair or finding)
        if supposed:
            session = session.supposing(repair or [], finding or [])
        from diag.show.ready import ready_data, ready_page

        if as_json:
            print_json(ready_data(session, supposed))
        else:
            ready_page(session, numbers, supposed).print()
