"""What of a base works, as ``validate`` tells it: counted now, or kept from before."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

if TYPE_CHECKING:
    from diag.knowledge.types import Knowledge
    from diag.network.diagnosis import Diagnosis
    from diag.network.observations import Observations

EVERY = 10  # cases between two words of progress


def kept_working(base: Knowledge, folders: Sequence[Path]) -> dict[str, Any] | None:
    """What was counted before for this version of the base in ``folders`` (none: the built-in one), or None."""
    from diag.learn.kept import read_kept

    return read_kept(_home(folders), base.version)


def count_working(base: Knowledge, folders: Sequence[Path]) -> dict[str, Any]:
    """Count what works, with progress on standard error, and keep it beside the base where that can be written."""
    from diag.learn.kept import KEPT, working_data, write_kept
    from diag.learn.working import working
    from diag.show.clean import visible

    data = working_data(working(base, _worked(base), _propose, _progress), base.version)
    try:
        write_kept(_home(folders), data)
    except OSError as error:
        typer.echo(f"{KEPT} is not kept: {visible(str(error))}", err=True)
    return data


def renewing(folders: Sequence[Path]) -> str:
    """The command that counts anew."""
    return " ".join(["diag validate --work", *(f"--knowledge {folder}" for folder in folders)])


def _home(folders: Sequence[Path]) -> Path:
    from diag.knowledge import shipped_folder

    return folders[-1] if folders else shipped_folder()


def _worked(base: Knowledge) -> Iterator[Observations]:
    """The worked cases that came with the program, those that this base understands."""
    from diag.case import load, replay
    from diag.cli.demo_play import cases_folder, names

    for name in names(cases_folder()):
        observations, problems = replay(load(cases_folder() / f"{name}.yaml"), base)
        if not any(problem.severity == "error" for problem in problems):
            yield observations


def _propose(diagnosis: Diagnosis) -> tuple[list[str], list[str]]:
    from diag.plan import Settings, rank

    ranking = rank(diagnosis, Settings())
    return [question.id for question in ranking.questions], [test.id for test in ranking.tests]


def _progress(done: int, whole: int) -> None:
    if done % EVERY == 0 or done == whole:
        typer.echo(f"{done} of {whole} cases", err=True)
