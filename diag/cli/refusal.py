"""Vehicles outside the scope are refused where their fitting is told."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from diag.knowledge.types import Knowledge
    from diag.text import Problem


def refusals(knowledge: Knowledge, fittings: Mapping[str, bool | None]) -> Iterator[Problem]:
    """A problem for each fitting told as there that puts the vehicle outside the scope, with the reason."""
    from diag.case.record import ARGUMENT
    from diag.text import Mark, Problem

    for id, has in fittings.items():
        fitting = knowledge.fittings.get(id)
        if has and fitting and fitting.refuses:
            message = f"this vehicle is outside what is known here ({fitting.name}). {fitting.refuses.strip()}"
            yield Problem(Mark(ARGUMENT, 1, 1), "outside-scope", message, "Nothing was written.")
