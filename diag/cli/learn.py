"""The command ``learn``: what closed cases teach, shown before and after, and kept as an overlay."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from diag.cli.opening import answering, knowledge_of, print_json
from diag.cli.options import AsJson, KnowledgeDir

if TYPE_CHECKING:
    from diag.knowledge.types import Knowledge
    from diag.learn.confirmed import ClosedCase, Refused

Files = Annotated[list[Path], typer.Argument(metavar="FILE...", help="Case files that were closed by 'diag confirm'.")]
Out = Annotated[
    Path | None,
    typer.Option("--out", "-o", metavar="DIR", help="Write what was learnt as an overlay; one of before is added to."),
]


def learn(
    context: typer.Context, files: Files, out: Out = None, knowledge: KnowledgeDir = None, as_json: AsJson = False
) -> None:
    """Show what closed cases teach: shares of causes, strengths, false alarms. With -o keep it as an overlay.

    For example: diag learn closed/*.yaml -o learnt, then diag --knowledge learnt causes FILE
    """
    with answering(as_json):
        from diag.learn.learning import learn as learn_from
        from diag.learn.overlay import read_counts, write_overlay
        from diag.show.learning import learnt_data, learnt_page

        base = knowledge_of(context, knowledge)
        earlier, known = read_counts(out, base) if out else (None, frozenset())
        cases = list(_read(files, base))
        with _progress("learning") as tell:
            learnt = learn_from(
                base, cases, earlier, known, tell=lambda n, done, whole: tell(f"round {n}", done, whole)
            )
        if out and (learnt.cases or known):
            try:
                write_overlay(out, learnt)
            except OSError as error:
                raise typer.BadParameter(f"{out} cannot be written: {error.strerror}.", param_hint="-o") from error
        if as_json:
            print_json(learnt_data(learnt))
        else:
            learnt_page(learnt, out if learnt.cases else None).print()


def _read(files: Sequence[Path], base: Knowledge) -> Iterator[ClosedCase | Refused]:
    from diag.learn.confirmed import read_closed

    with _progress("reading") as tell:
        for number, path in enumerate(files, start=1):
            yield read_closed(path, base)
            tell("reading", number, len(files))


@contextmanager
def _progress(what: str) -> Iterator[Callable[[str, int, int], None]]:
    """A bar on standard error while there is a terminal to see it, gone when done."""
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True, disable=not Console(stderr=True).is_terminal) as bar:
        task = bar.add_task(what, total=None)
        yield lambda words, done, whole: bar.update(task, description=words, completed=done, total=whole)
