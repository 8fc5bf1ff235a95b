"""What the readings of a case mean, for commands that need nothing else of what is heavy to import."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from diag.case import Case
    from diag.explain.readings import Meant
    from diag.knowledge.types import Knowledge


def meant_in(case: Case, knowledge: Knowledge) -> tuple[Meant, ...]:
    """What readings were taken to mean; where nothing was measured, nothing is imported for it."""
    from diag.case import FindingEntry

    if not any(isinstance(entry, FindingEntry) and entry.reading for entry in case.entries):
        return ()
    from diag.explain.readings import meant_readings

    return meant_readings(case, knowledge)
