"""The commands that ask the network: ``causes`` and ``next``."""

from __future__ import annotations

from typing import Annotated

import typer

from diag.cli.opening import answering, print_json, session_of
from diag.cli.options import AsJson, CaseFile, KnowledgeDir, WithNumbers

SecondOpinion = Annotated[
    bool,
    typer.Option("--second-opinion", help="Ask another engine too, from the exported network; takes ten seconds."),
]


def causes(
    context: typer.Context,
    file: CaseFile = None,
    numbers: WithNumbers = False,
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
    second: SecondOpinion = False,
) -> None:
    """Show the likely causes.

    For example: diag causes van.yaml --numbers
    """
    with answering(as_json):
        session = session_of(context, file, knowledge, as_json)
        from diag.show.causes import causes_data, causes_page
        from diag.show.second_opinion import second_opinion_data, second_opinion_page

        if as_json:
            more = second_opinion_data(session) if second else {}
            print_json({**causes_data(session), **more})
        else:
            causes_page(session, numbers).print()
            if second:
                second_opinion_page(session).print()


def next_(
    context: typer.Context,
    file: CaseFile = None,
    numbers: WithNumbers = False,
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Show what to ask and what to test next.

    For example: diag next van.yaml
    """
    with answering(as_json):
        session = session_of(context, file, knowledge, as_json)
        from diag.show.next_step import next_data, next_page

        if as_json:
            print_json(next_data(session))
        else:
            next_page(session, numbers).print()
