"""The command ``theory``: a theory on trial, kept in the case with its author."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from diag.cli.opening import answering, case_file, print_json, session_of
from diag.cli.options import AsJson, By, KnowledgeDir, Note, Shaken, WithNumbers

if TYPE_CHECKING:
    from diag.case import Case, Entry, TheoryEntry
    from diag.explain.judgement import Draws
    from diag.session import Session
    from diag.show.theory import Judged

Said = Annotated[
    list[str] | None,
    typer.Argument(
        metavar="[FILE] [ID...]",
        help="The cause that began it, effects that followed, and not:ID for what is not there; nothing: judge all "
        "recorded theories anew.",
    ),
]
OnlyAsk = Annotated[bool, typer.Option("--only-ask", help="Judge it, record nothing.")]


def theory(
    context: typer.Context,
    said: Said = None,
    by: By = "",
    note: Note = "",
    only_ask: OnlyAsk = False,
    shaken: Shaken = None,
    numbers: WithNumbers = False,
    knowledge: KnowledgeDir = None,
    as_json: AsJson = False,
) -> None:
    """Put a theory on trial: how well it holds, who rivals it, what would decide.

    For example: diag theory van.yaml thermostat_stuck_closed radiator_starved --only-ask
    """
    file, words = _apart(said or [])
    with answering(as_json):
        path = case_file(file, as_json)
        session = session_of(context, path, knowledge, as_json)
        entries = [_read(session, words, by, note)] if words else session.theories
        draws = session.started_draws(shaken) if shaken and entries else None
        judged = [_judged(session, entry, draws) for entry in entries]
        if words and not only_ask:
            _record(path, session, entries[0])
        from diag.show.theory import theories_data, theories_page

        if as_json:
            print_json(theories_data(session, judged))
        else:
            theories_page(session, judged, numbers).print()


def _apart(said: Sequence[str]) -> tuple[Path | None, Sequence[str]]:
    """The file, where the first argument is one or is called like one, and the rest."""
    if said and (Path(said[0]).is_file() or Path(said[0]).suffix in (".yaml", ".yml")):
        return Path(said[0]), said[1:]
    return None, said


def _read(session: Session, words: Sequence[str], by: str, note: str) -> TheoryEntry:
    from diag.case import read_theory
    from diag.text import ProblemsFound

    entry, problems = read_theory(session.knowledge, words, by=by, note=note)
    if entry is None:
        raise ProblemsFound(problems)
    return entry


def _judged(session: Session, entry: TheoryEntry, draws: Draws | None) -> Judged:
    from diag.explain.stated import Theory
    from diag.show.theory import Judged

    trial = session.trial(Theory(entry.theory, entry.followed, entry.absent))
    return Judged(
        trial=trial,
        acts=session.deciding(trial),
        by=entry.by,
        judgement=draws.about(trial.theory.cause) if draws and trial.probability > 0 else None,
    )


def _record(path: Path, session: Session, entry: TheoryEntry) -> None:
    """Add the theory to the case, unless the same stands there already from the same person."""
    from diag.case import extend, theories

    def draw_up(case: Case) -> Iterable[Entry]:
        known = (_content(other) for other in theories(case, session.knowledge))
        return [] if _content(entry) in known else [entry]

    extend(path, draw_up, knowledge=session.knowledge.version)


def _content(entry: TheoryEntry) -> tuple[str, frozenset[str], frozenset[str], str]:
    return entry.theory, frozenset(entry.followed), frozenset(entry.absent), entry.by
