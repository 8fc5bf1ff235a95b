"""The command ``evaluate``: rankings scored on diagnosed cases."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from diag.cli.opening import answering, fail, knowledge_of, print_json
from diag.cli.options import AsJson, KnowledgeDir

Cases = Annotated[Path, typer.Argument(metavar="CASES.yaml", help="Diagnosed cases, a YAML list.")]


def evaluate(context: typer.Context, cases: Cases, knowledge: KnowledgeDir = None, as_json: AsJson = False) -> None:
    """Score the ranking on diagnosed cases, beside simpler methods.

    For example: diag evaluate tests/field/cases.yaml
    """
    with answering(as_json):
        from diag.learn import evaluate as score
        from diag.learn import read_cases
        from diag.show.evaluation import evaluation_data, evaluation_page

        found, problems = read_cases(cases)
        if problems:
            fail(problems, as_json)
        evaluation, wrong = score(knowledge_of(context, knowledge), found)
        if wrong:
            fail(wrong, as_json)
        if as_json:
            print_json(evaluation_data(evaluation))
        else:
            evaluation_page(evaluation).print()
