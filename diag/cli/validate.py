"""The command ``validate``: checks a knowledge base, an overlay or a case."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from diag.cli.complete import codes
from diag.cli.opening import answering, fail, folders_of, knowledge_of, print_json
from diag.cli.options import AsJson, KnowledgeDir

if TYPE_CHECKING:
    from diag.network.cliques import CliqueSizes
    from diag.text import Problem

Checked = Annotated[
    Path | None,
    typer.Argument(metavar="[PATH]", help="A knowledge base, an overlay or a case file; else the built-in base."),
]
Explain = Annotated[
    str, typer.Option(metavar="CODE", help="Say what the code of a problem means.", autocompletion=codes)
]
Work = Annotated[bool, typer.Option("--work", help="Count what works in the base, over its twin cases; takes minutes.")]


def validate(
    context: typer.Context,
    path: Checked = None,
    explain: Explain = "",
    knowledge: KnowledgeDir = None,
    work: Work = False,
    as_json: AsJson = False,
) -> None:
    """Check a knowledge base or a case; exits with 1 on errors only.

    For example: diag validate my_shop
    """
    with answering(as_json):
        if explain:
            _explain(explain, as_json)
        elif path is not None and not path.is_dir():
            _tell(*_case_problems(context, path, knowledge), as_json)
        else:
            _tell_base(_folders(context, path, knowledge), work, as_json)


def _folders(context: typer.Context, path: Path | None, knowledge: list[Path] | None) -> list[Path]:
    """What is checked: a base by itself, an overlay laid over what is named beside it, or that alone."""
    if path is None:
        return folders_of(context, knowledge)
    return [path] if (path / "model.yaml").is_file() else [*folders_of(context, knowledge), path]


def _tell_base(folders: list[Path], work: bool, as_json: bool) -> None:
    from diag.cli.validate_working import count_working, kept_working, renewing
    from diag.knowledge.chosen import layers
    from diag.knowledge.validate import counts, validate_folder
    from diag.network.cliques import clique_sizes
    from diag.show.working import stale_note

    base, problems = validate_folder(*layers(folders))
    sound = not any(problem.severity == "error" for problem in problems)
    cliques: list[CliqueSizes] = []
    if sound:
        cliques, too_large = clique_sizes(base)
        problems = sorted([*problems, *too_large])
    working = count_working(base, folders) if work and sound else kept_working(base, folders)
    note = "" if working else stale_note(renewing(folders))
    _tell(problems, counts(base), as_json, {"cliques": cliques, "working": working, "working_note": note})


def _case_problems(
    context: typer.Context, path: Path, knowledge: list[Path] | None
) -> tuple[list[Problem], dict[str, int]]:
    from diag.case import in_force, load, replay
    from diag.plan.told import settings_of

    case = load(path)
    base = knowledge_of(context, knowledge)
    problems = [*replay(case, base)[1], *settings_of(case, base)[1]]
    return sorted(problems), {"entries": len(case.entries), "in_force": len(in_force(case))}


def _tell(
    problems: Sequence[Problem], counts: Mapping[str, int], as_json: bool, more: Mapping[str, Any] | None = None
) -> None:
    from diag.show.problems import problems_data
    from diag.show.validation import validation_page

    if as_json:
        print_json({"problems": problems_data(problems), "counts": dict(counts), **(more or {})})
    else:
        validation_page(problems, counts, more).print()
    if any(problem.severity == "error" for problem in problems):
        raise typer.Exit(1)


def _explain(code: str, as_json: bool) -> None:
    from diag.case.record import ARGUMENT
    from diag.knowledge.codes import explain, explanations
    from diag.show.as_json import plain
    from diag.show.validation import explanation_page
    from diag.text import Mark, Problem, did_you_mean

    found = explain(code)
    if found is None:
        hint = did_you_mean(code, explanations()) or f"Known are {', '.join(explanations())}."
        fail([Problem(Mark(ARGUMENT, 1, 1), "unknown-code", f"there is no code '{code}'.", hint)], as_json)
    if as_json:
        print_json(plain(found))
    else:
        explanation_page(found).print()
