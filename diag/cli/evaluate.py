"""The command ``evaluate``: rankings scored on diagnosed cases."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from diag.cli.opening import answering, fail, knowledge_of, print_json
from diag.cli.options import AsJson, KnowledgeDir

if TYPE_CHECKING:
    from diag.knowledge.types import Knowledge
    from diag.learn import DiagnosedCase
    from diag.learn.calibration import Calibration

Cases = Annotated[Path, typer.Argument(metavar="CASES.yaml", help="Diagnosed cases, a YAML list.")]


Calibrated = Annotated[
    bool, typer.Option("--calibration", help="Also: do probabilities keep their word, before and after learning?")
]
Drawn = Annotated[int, typer.Option("--drawn", min=0, metavar="N", help="With N vehicles drawn from the base.")]


def evaluate(
    context: typer.Context,
    cases: Cases,
    calibrated: Calibrated = False,
    vehicles: Drawn = 200,
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Score the ranking on diagnosed cases, beside simpler methods.

    For example: diag evaluate tests/field/cases.yaml --calibration
    """
    with answering(as_json):
        from diag.learn import evaluate as score
        from diag.learn import read_cases
        from diag.show.calibration import add_calibration, calibration_data
        from diag.show.evaluation import evaluation_data, evaluation_page

        found, problems = read_cases(cases)
        if problems:
            fail(problems, as_json)
        evaluation, wrong = score(knowledge_of(context, knowledge), found)
        if wrong:
            fail(wrong, as_json)
        told = _calibration(knowledge_of(context, knowledge), found, vehicles) if calibrated else {}
        if as_json:
            print_json({**evaluation_data(evaluation), **({"calibration": calibration_data(told)} if told else {})})
        else:
            page = evaluation_page(evaluation)
            add_calibration(page, told)
            page.print()


def _calibration(knowledge: Knowledge, cases: Sequence[DiagnosedCase], vehicles: int) -> dict[str, Calibration]:
    """The cases as judged by the base, by the base learnt from the others, and vehicles drawn from the base."""
    from diag.learn.calibration import calibration, cross_validated, drawn

    before, after, _ = cross_validated(knowledge, cases)
    told = {"These cases": calibration(before), "After learning from the others": calibration(after)}
    if vehicles:
        told["Drawn from the base itself"] = calibration(drawn(knowledge, vehicles, seed=1))
    return told
