"""The command ``solve``: the cheapest plan for a small troubleshooting problem of one's own."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from diag.cli.opening import answering, fail, print_json
from diag.cli.options import AsJson

ProblemFile = Annotated[Path, typer.Argument(metavar="PROBLEM.yaml", help="Causes, tests, repairs and their costs.")]
Depth = Annotated[
    int | None, typer.Option("--depth", min=1, metavar="N", help="Look N steps ahead instead of to the end.")
]


def solve(problem: ProblemFile, depth: Depth = None, as_json: AsJson = False) -> None:
    """Find the cheapest plan for a small problem from a file: up to 12 causes, 24 tests and repairs.

    The file has causes {a: 0.7, b: 0.3} of which one is there, tests {t1: {cost: 1, shows: [b]}}, repairs
    {r1: {cost: 3, mends: [b]}}, access {opened: {cost: 2, undo: 1}}, and small_problem: find or mend.

    For example: diag solve problem.yaml --depth 2
    """
    with answering(as_json):
        from diag.plan.small_file import read_small_problem
        from diag.plan.small_solver import solve as cheapest
        from diag.show.small_problem import solution_data, solution_page

        found, problems = read_small_problem(problem)
        if found is None:
            fail(problems, as_json)
        answer = cheapest(found, depth)
        if as_json:
            print_json(solution_data(problem.as_posix(), answer))
        else:
            solution_page(problem.as_posix(), answer).print()
