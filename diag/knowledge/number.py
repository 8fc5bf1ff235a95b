"""The grammar of a number: ``VALUE (LOW..HIGH) GRADE REFERENCE``, one line, range and reference optional."""

from __future__ import annotations

import re
from typing import cast

from diag.knowledge.types import GRADES, Grade, Number
from diag.text import Mark, Node, Problem, TextNode, did_you_mean, kind_of

FORM = "0.85 (0.7..0.95) judgement"

# Few enough digits that no figure overflows.
_FIGURE = r"[+-]?[0-9]{1,15}(?:\.[0-9]+)?(?:[eE][+-]?[0-9]{1,2})?"
_NUMBER = re.compile(
    rf"({_FIGURE})(?: +\( *({_FIGURE}) *\.\. *({_FIGURE}) *\))? +({'|'.join(GRADES)})(?: +([a-z][a-z0-9_]*))?"
)
_FIGURE_ONLY = re.compile(_FIGURE)
_VALUE_AND_WORD = re.compile(rf"{_FIGURE}(?: *\([^)]*\))? +([A-Za-z_][A-Za-z0-9_]*)(?: .*)?")


def read_number(node: Node, problems: list[Problem]) -> Number:
    """The number in ``node``; where there is none a problem is added and a nought is returned."""
    mark = node.mark
    if not isinstance(node, TextNode):
        message = f"a number is wanted here, not {kind_of(node)}."
        problems.append(Problem(mark, "not-a-number", message, f"Write it as {FORM}."))
        return Number(0.0, "judgement", mark)
    found = _NUMBER.fullmatch(node.value)
    if found is None:
        problems.append(_why_not(node.value, mark))
        return Number(0.0, "judgement", mark)
    value, low, high, grade, reference = found.groups()
    return Number(
        float(value),
        cast(Grade, grade),
        mark,
        None if low is None else float(low),
        None if high is None else float(high),
        reference,
    )


def _why_not(text: str, mark: Mark) -> Problem:
    """What is wrong with a text that is no number: its grade, or everything."""
    worded = _VALUE_AND_WORD.fullmatch(text)
    if _FIGURE_ONLY.fullmatch(text.partition("(")[0].strip()) and not worded:
        message = f"the number {text!r} does not say how well it is known."
        return Problem(mark, "missing-grade", message, f"Add one of {', '.join(GRADES)}.")
    if worded and worded.group(1) not in GRADES:
        hint = did_you_mean(worded.group(1), GRADES) or f"Use one of {', '.join(GRADES)}."
        return Problem(mark, "unknown-grade", f"{worded.group(1)!r} is not a grade.", hint)
    return Problem(mark, "not-a-number", f"{text!r} is not a number.", f"Write it as {FORM}.")
