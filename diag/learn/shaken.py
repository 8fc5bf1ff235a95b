"""The base with every judgement number moved within its range: how far does an answer hang on judgement?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any, cast

import numpy as np

from diag.knowledge.types import Knowledge, Number


def shaken(knowledge: Knowledge, random: np.random.Generator) -> Knowledge:
    """Each judgement anew, log-uniform between its low and its high; published numbers stay.

    What must add up to one at most (strengths of one parent, false alarms of one finding) is scaled back where the
    draw went beyond.
    """
    return cast(Knowledge, _shaken(knowledge, random))


def _shaken(value: Any, random: np.random.Generator) -> Any:
    if isinstance(value, Number):
        return _drawn(value, random)
    if isinstance(value, Mapping):
        return _within_one(value, {key: _shaken(inner, random) for key, inner in value.items()})
    if isinstance(value, tuple):
        return tuple(_shaken(inner, random) for inner in value)
    if is_dataclass(value) and not isinstance(value, type):
        told = {f.name: getattr(value, f.name) for f in fields(value)}
        moved = {name: _shaken(inner, random) for name, inner in told.items() if _holds_numbers(inner)}
        return replace(value, **moved) if moved else value
    return value


def _holds_numbers(value: Any) -> bool:
    return isinstance(value, Number | Mapping | tuple) or (is_dataclass(value) and not isinstance(value, type))


def _drawn(number: Number, random: np.random.Generator) -> Number:
    if number.grade != "judgement" or number.low is None or number.high is None or number.high <= 0:
        return number
    low = max(number.low, number.high / 1000)
    return replace(number, value=float(np.exp(random.uniform(np.log(low), np.log(number.high)))))


def _within_one(before: Mapping[str, Any], after: dict[str, Any]) -> dict[str, Any]:
    """Probabilities that stood together below one do so again."""
    if not after or not all(isinstance(number, Number) for number in after.values()):
        return after
    was, now = (sum(n.value for n in told.values()) for told in (before, after))
    if was <= 1.0 < now:
        return {key: replace(number, value=number.value * 0.999 / now) for key, number in after.items()}
    return after
