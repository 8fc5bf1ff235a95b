"""What the answer is and why: likely causes, twins, what stays unexplained, impossible evidence."""

from diag.explain.causes import CauseList, LikelyCause, likely_causes
from diag.explain.impossible import impossible_findings

__all__ = ["CauseList", "LikelyCause", "impossible_findings", "likely_causes"]
