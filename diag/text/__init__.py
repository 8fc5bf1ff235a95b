"""YAML as text with positions: mark, problem, document."""

from diag.text.mark import Mark
from diag.text.problem import Problem, ProblemsFound, Severity

__all__ = ["Mark", "Problem", "ProblemsFound", "Severity"]
