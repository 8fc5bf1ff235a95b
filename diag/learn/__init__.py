"""How good the answers are: rankings scored on diagnosed cases, beside simpler methods."""

from diag.learn.diagnosed import DiagnosedCase, read_cases
from diag.learn.evaluate import Evaluation, evaluate
from diag.learn.scores import Score

__all__ = ["DiagnosedCase", "Evaluation", "Score", "evaluate", "read_cases"]
