"""What an author or a user did wrong, as a value: where, what, why, and what to do."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from diag.text.mark import Mark

Severity = Literal["error", "warning", "note"]


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One mistake in a file. ``code`` is stable; ``message`` says what and why, ``hint`` what to do."""

    mark: Mark
    code: str
    message: str
    hint: str = ""
    severity: Severity = "error"

    def __str__(self) -> str:
        hint = f" {self.hint}" if self.hint else ""
        return f"{self.mark}: {self.severity}: {self.message}{hint} [{self.code}]"


class ProblemsFound(Exception):
    """Raised where a caller asked for data that the problems made impossible; carries them sorted."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(sorted(problems))
        super().__init__("\n".join(str(problem) for problem in self.problems))
