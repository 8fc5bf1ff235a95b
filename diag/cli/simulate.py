"""The command ``simulate``: planning policies at work on simulated vehicles."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from diag.cli.opening import answering, fail, knowledge_of, print_json
from diag.cli.options import AsJson, KnowledgeDir

if TYPE_CHECKING:
    from diag.knowledge.types import Knowledge
    from diag.plan.simulation import Simulation, Task
    from diag.text import Problem

Vehicles = Annotated[int, typer.Option("--vehicles", min=1, metavar="N", help="How many vehicles.")]
Seed = Annotated[int, typer.Option("--seed", min=0, metavar="S", help="The same seed, the same vehicles.")]
Jobs = Annotated[int, typer.Option("--jobs", min=-1, metavar="N", help="Processes; -1: all cores.")]
Dask = Annotated[str, typer.Option("--dask", metavar="ADDRESS", help="Send the work to this Dask cluster instead.")]
Shaken = Annotated[
    int, typer.Option("--shaken", min=0, metavar="K", help="Draw the vehicles from K networks with shaken judgements.")
]


def simulate(
    context: typer.Context,
    vehicles: Vehicles = 100,
    seed: Seed = 1,
    jobs: Jobs = -1,
    dask: Dask = "",
    shaken: Shaken = 0,
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Let planning policies work on simulated vehicles, the same ones for all.

    For example: diag simulate --vehicles 200 --seed 1
    """
    with answering(as_json):
        from diag.plan import Settings
        from diag.plan.simulation import Task
        from diag.show.simulation import simulation_data, simulation_page

        base = knowledge_of(context, knowledge)
        task = Task(base, Settings(), seed, _truths(base, seed, shaken))
        answer = _run(task, vehicles, jobs, dask, as_json)
        if as_json:
            print_json(simulation_data(answer))
        else:
            simulation_page(answer).print()


def _truths(base: Knowledge, seed: int, shaken: int) -> tuple[Knowledge, ...]:
    import numpy as np

    from diag.learn.shaken import shaken as shake

    return tuple(shake(base, np.random.default_rng((seed, 3, place))) for place in range(shaken))


def _run(task: Task, vehicles: int, jobs: int, dask: str, as_json: bool) -> Simulation:
    """With a progress bar on standard error, where that is a terminal."""
    from rich.console import Console
    from rich.progress import Progress

    from diag.plan.simulation import simulate as run

    with Progress(console=Console(stderr=True), transient=True, disable=as_json) as progress:
        bar = progress.add_task("vehicles", total=vehicles)
        try:
            return run(task, vehicles, jobs, dask, lambda through: progress.advance(bar, through))
        except (ImportError, OSError) as error:
            if not dask:
                raise
            fail([_no_cluster(dask, error)], as_json)


def _no_cluster(address: str, error: Exception) -> Problem:
    from diag.case.record import ARGUMENT
    from diag.text import Mark, Problem

    if isinstance(error, ImportError):
        message, hint = "the library of the cluster is not installed.", "Install it: pip install 'diag[dask]'."
    else:
        message, hint = f"no cluster answers at '{address}'.", "Start one, or leave --dask out."
    return Problem(Mark(ARGUMENT, 1, 1), "no-cluster", message, hint)
