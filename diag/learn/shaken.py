"""The base with every judgement number moved within its range: how far does an answer hang on judgement?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from math import log
from typing import Any, cast

import numpy as np

from diag.knowledge.types import Knowledge, Number

# Fields whose numbers are states of one distribution: together one at most.
_DISTRIBUTIONS = ("leak", "false_alarm", "strengths")
_MOST = 0.999  # together, so that the ordinary state keeps some room
_LEAST = 1e-3  # of the value: a range that begins at nought is taken to begin there


def shaken(knowledge: Knowledge, random: np.random.Generator) -> Knowledge:
    """Each judgement anew, half of the time between its low and its value, else between its value and its high.

    Log-uniform within each half, so that the value is the median; numbers of other grades stay. The states of one
    distribution go only part of the way where all of it would bring them beyond one.
    """
    return cast(Knowledge, _shaken(knowledge, random, False))


def _shaken(value: Any, random: np.random.Generator, together: bool) -> Any:
    if isinstance(value, Number):
        return _drawn(value, random)
    if isinstance(value, Mapping):
        moved = {key: _shaken(inner, random, together) for key, inner in value.items()}
        return _within_one(value, moved) if together and _is_distribution(value) else moved
    if isinstance(value, tuple):
        return tuple(_shaken(inner, random, False) for inner in value)
    if _is_data(value):
        told = {f.name: getattr(value, f.name) for f in fields(value)}
        return replace(
            value,
            **{
                name: _shaken(inner, random, name in _DISTRIBUTIONS)
                for name, inner in told.items()
                if isinstance(inner, Number | Mapping | tuple) or _is_data(inner)
            },
        )
    return value


def _is_data(value: Any) -> bool:
    return is_dataclass(value) and not isinstance(value, type)


def _drawn(number: Number, random: np.random.Generator) -> Number:
    if number.grade != "judgement" or number.low is None or number.high is None or number.value <= 0:
        return number
    ends = (max(number.low, number.value * _LEAST), number.high)
    end = ends[int(random.integers(2))]
    return replace(number, value=float(number.value * np.exp(random.uniform() * log(end / number.value))))


def _is_distribution(value: Mapping[str, Any]) -> bool:
    return bool(value) and all(isinstance(number, Number) for number in value.values())


def _within_one(before: Mapping[str, Number], after: dict[str, Number]) -> dict[str, Number]:
    was, now = (sum(number.value for number in states.values()) for states in (before, after))
    most = max(was, _MOST)
    if now <= most:
        return after
    part = (most - was) / (now - was)
    return {
        state: replace(number, value=before[state].value + part * (number.value - before[state].value))
        for state, number in after.items()
    }
