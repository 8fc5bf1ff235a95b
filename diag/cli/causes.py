"""The commands that ask the network: ``causes`` and ``next``."""

from __future__ import annotations

from typing import Annotated

import typer

from diag.cli.opening import answering, print_json, session_of
from diag.cli.options import AsJson, CaseFile, KnowledgeDir, Shaken, WithNumbers

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
    shaken: Shaken = None,
) -> None:
    """Show the likely causes.

    For example: diag causes van.yaml --numbers
    """
    with answering(as_json):
        session = session_of(context, file, knowledge, as_json)
        from diag.show.causes import causes_data, causes_page
        from diag.show.judgement import add_judgement, judgement_data
        from diag.show.second_opinion import second_opinion_data, second_opinion_page

        judgement = session.draws(shaken).about(session.causes.causes[0].id) if shaken else None
        if as_json:
            more = second_opinion_data(session) if second else {}
            told = {"judgement": judgement_data(session, judgement)} if judgement else {}
            print_json({**causes_data(session), **told, **more})
        else:
            page = causes_page(session, numbers)
            if judgement:
                add_judgement(page, session, judgement, numbers)
            page.print()
            if second:
                second_opinion_page(session).print()


About = Annotated[
    list[str] | None,
    typer.Option("--about", metavar="ID", help="Rank by what is told about this instead: cause, effect, finding."),
]
Before = Annotated[
    str | None,
    typer.Option("--before", metavar="STEP", help="What to see, measure and keep before this step or repair."),
]
AsPlan = Annotated[bool, typer.Option("--plan", help="A plan as a tree: what next, if it shows this, then that.")]
PlanDepth = Annotated[int, typer.Option("--depth", min=1, max=3, metavar="N", help="How many acts deep the plan is.")]


def next_(
    context: typer.Context,
    file: CaseFile = None,
    about: About = None,
    before: Before = None,
    as_plan: AsPlan = False,
    depth: PlanDepth = 2,
    numbers: WithNumbers = False,
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Show what to ask and what to test next.

    For example: diag next van.yaml
    """
    with answering(as_json):
        session = session_of(context, file, knowledge, as_json)
        from diag.show.last_look import add_last_look
        from diag.show.next_step import next_data, next_page
        from diag.show.page import Page
        from diag.show.plan_tree import add_plan

        ranking = session.ranking_about(about or ())
        look = session.last_look(before) if before else None
        plan = session.plan(depth) if as_plan else None
        if as_json:
            print_json(next_data(session, ranking, look, plan))
        elif look or plan:
            page = Page()
            if look:
                add_last_look(page, session, look, numbers)
            if plan:
                add_plan(page, session, plan, numbers)
            page.print()
        else:
            next_page(session, numbers, ranking, about or ()).print()
