"""The commands that ask the network: ``causes`` and ``next``."""

from __future__ import annotations

import typer

from diag.cli.opening import answering, print_json, session_of
from diag.cli.options import AsJson, CaseFile, KnowledgeDir, WithNumbers


def causes(
    context: typer.Context,
    file: CaseFile = None,
    numbers: WithNumbers = False,
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Show the likely causes."""
    with answering(as_json):
        session = session_of(context, file, knowledge, as_json)
        from diag.show.causes import causes_data, causes_page

        if as_json:
            print_json(causes_data(session))
        else:
            causes_page(session, numbers).print()


def next_(
    context: typer.Context,
    file: CaseFile = None,
    numbers: WithNumbers = False,
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Show what to ask and what to test next."""
    with answering(as_json):
        session = session_of(context, file, knowledge, as_json)
        from diag.show.next_step import next_data, next_page

        if as_json:
            print_json(next_data(session))
        else:
            next_page(session, numbers).print()
