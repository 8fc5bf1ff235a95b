"""The command ``interview``: the best next questions, then the best test, again and again."""

from __future__ import annotations

import sys
from io import TextIOWrapper
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from diag.cli.opening import answering, knowledge_of
from diag.cli.options import KnowledgeDir

if TYPE_CHECKING:
    from diag.cli.interview_sitting import Sitting
    from diag.knowledge.types import Knowledge
    from diag.plan import Ranking

BATCH = 4
INTERRUPTED = 130  # what a shell expects after Ctrl-C
InterviewFile = Annotated[Path, typer.Argument(metavar="FILE", help="The case file; it is made where there is none.")]


def interview(context: typer.Context, file: InterviewFile, knowledge: KnowledgeDir = None) -> None:
    """Ask the best next question or test, again and again; every answer is in the file at once.

    For example: diag interview van.yaml
    """
    with answering(as_json=False):
        base = knowledge_of(context, knowledge)
        if not file.exists():
            _create(file, base)
        _sit(file, base)


def _create(file: Path, knowledge: Knowledge) -> None:
    from diag.case import create

    create(file, file.stem, {}, knowledge=knowledge.version)


def _sit(file: Path, knowledge: Knowledge) -> None:
    from diag.cli import interview_screen as screen
    from diag.cli.interview_sitting import Sitting, Stopped

    if isinstance(sys.stdin, TextIOWrapper):
        sys.stdin.reconfigure(errors="backslashreplace")
    sitting = Sitting(file, knowledge)
    screen.opening(knowledge).print()
    try:
        _run(sitting)
    except (Stopped, EOFError):
        screen.stopped(str(file)).print()
    except KeyboardInterrupt:
        screen.stopped(str(file)).print()
        raise typer.Exit(INTERRUPTED) from None


def _run(sitting: Sitting) -> None:
    """Questions and tests in turn until the ranking advises to stop or nothing is left. Raises Stopped, EOFError."""
    from diag.cli import interview_screen as screen

    while True:
        before = len(sitting.left_open), sitting.session.case.last_number
        for ask in (_ask_questions, _ask_test):
            ranking = _ranking(sitting)
            if ranking.stop.advised or sitting.session.observations.confirmed:
                screen.finished(sitting.session, str(sitting.path)).print()
                return
            ask(sitting, ranking)
        if before == (len(sitting.left_open), sitting.session.case.last_number):
            screen.nothing_left(ranking, len(sitting.left_open)).print()
            return


def _ranking(sitting: Sitting) -> Ranking:
    from diag.cli.interview_complaint import ask_complaint

    sitting.settle()
    if not sitting.has_complaint:
        ask_complaint(sitting)
    return sitting.session.ranking


def _ask_questions(sitting: Sitting, ranking: Ranking) -> None:
    from diag.cli import interview_screen as screen
    from diag.cli.interview_sitting import look_at

    open_now = (q for q in ranking.questions if sitting.left_open.isdisjoint((q.id, look_at(q.id))))
    batch = tuple(islice(open_now, BATCH))
    if batch:
        screen.batch(batch).print()
        sitting.ask_all(question.id for question in batch)


def _ask_test(sitting: Sitting, ranking: Ranking) -> None:
    from diag.cli import interview_screen as screen

    for proposal in ranking.tests:
        findings = sitting.open_findings(proposal)
        if findings:
            test = sitting.knowledge.tests[proposal.id]
            fittings = (sitting.knowledge.fittings[fitting] for fitting in test.fitted)
            if all(sitting.has_fitting(fitting) for fitting in fittings):
                screen.test_card(sitting.session, proposal).print()
                sitting.ask_all(findings, test.id)
            return
