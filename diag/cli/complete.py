"""What the shell offers when a person presses the tabulator key: case files, ids, states, settings, codes.

Nothing is ever told here but candidates: a base or a case that is wrong gives none. Some shells (bash) part a word at
its equals sign, so that ``ID``, ``=`` and the beginning of the state come as three.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

if TYPE_CHECKING:
    from diag.knowledge.types import Knowledge

Completer = Callable[[typer.Context, str], list[str]]

STATES_OF = ("findings", "history")
_MORE_STATES = ("gone",)


def case_files(incomplete: str) -> list[str]:
    """YAML files beside or below what was typed."""
    folder = Path(incomplete).parent if "/" in incomplete else Path()
    found = [path for path in sorted(folder.glob("*")) if path.is_dir() or path.suffix in (".yaml", ".yml")]
    names = (f"{path.as_posix()}/" if path.is_dir() else path.as_posix() for path in found)
    return [name for name in names if name.startswith(incomplete)]


def ids(*sections: str, before: tuple[str, ...] = (), files: bool = False) -> Completer:
    """Ids of these sections (of all where none is named), ``before`` them words of the command itself."""

    def complete(context: typer.Context, incomplete: str) -> list[str]:
        from diag.knowledge.walk import SECTIONS, section

        base = _base(context)
        known = [id for name in sections or SECTIONS for id in section(base, name)] if base else []
        first = case_files(incomplete) if files and not _told(context) else []
        return [*first, *_beginning((*before, *known), incomplete)]

    return complete


def several_ids(section: str) -> Completer:
    """Ids with commas between them."""

    def complete(context: typer.Context, incomplete: str) -> list[str]:
        done, comma, last = incomplete.rpartition(",")
        return [f"{done}{comma}{id}" for id in ids(section)(context, last)]

    return complete


def assignments(context: typer.Context, incomplete: str) -> list[str]:
    """``ID=STATE`` of findings and facts; files too where nothing is told yet."""
    base = _base(context)
    told = _told(context)
    if base is None:
        return []
    if told[-1:] == ["="] and len(told) > 1:
        return _beginning(_states(base, told[-2]), incomplete)
    first = [] if told else case_files(incomplete)
    return [*first, *_beginning(_all_assignments(base), incomplete)]


def setting_names(context: typer.Context, incomplete: str) -> list[str]:
    """``NAME=`` of the settings; files too where nothing is told yet."""
    from diag.plan.told import NAMES

    first = [] if _told(context) else case_files(incomplete)
    return [*first, *_beginning((f"{name}=" for name in NAMES), incomplete)]


def codes(incomplete: str) -> list[str]:
    """Codes of problems."""
    from diag.knowledge.codes import explanations

    return _beginning(explanations(), incomplete)


def plays(incomplete: str) -> list[str]:
    """Worked cases."""
    from diag.cli.demo_play import cases_folder, names

    return _beginning(names(cases_folder()), incomplete)


def _all_assignments(base: Knowledge) -> Iterator[str]:
    for section in (base.findings, base.history):
        for id in section:
            yield from (f"{id}={state}" for state in _states(base, id))


def _states(base: Knowledge, id: str) -> tuple[str, ...]:
    entry = base.findings.get(id) or base.history.get(id)
    return (*entry.states, *_MORE_STATES) if entry else ()


def _beginning(words: Iterable[str], incomplete: str) -> list[str]:
    return [word for word in words if word.startswith(incomplete)]


def _told(context: typer.Context) -> list[str]:
    """The words that stand before, of the argument that takes several."""
    lists: list[Any] = [value for name, value in context.params.items() if name != "knowledge"]
    return [word for value in lists if isinstance(value, list | tuple) for word in value]


def _base(context: typer.Context) -> Knowledge | None:
    from diag.knowledge.chosen import load_knowledge
    from diag.text import ProblemsFound

    named = context.params.get("knowledge") or context.find_root().params.get("knowledge") or ()
    try:
        return load_knowledge(*(Path(folder) for folder in named))
    except ProblemsFound:
        return None
