"""A small troubleshooting problem: causes of which exactly one is there, tests, repairs, access steps, costs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

AIMS = ("find", "mend")
Weights = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class SmallTest:
    """``results``: P(result | cause), in the order of the causes; a test done again shows the same."""

    cost: float
    results: Mapping[str, Weights]
    access: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SmallRepair:
    """``mends``: P(the trouble is gone | cause), in the order of the causes."""

    cost: float
    mends: Weights
    access: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SmallStep:
    """An access step: ``cost`` of doing it, of putting it back, and what it needs."""

    cost: float
    undo: float = 0.0
    needs: tuple[str, ...] = ()


@dataclass(frozen=True)
class SmallProblem:
    """``causes`` add up to 1. ``ending``: price of ending it, None where there is no such way."""

    aim: str
    causes: Mapping[str, float]
    tests: Mapping[str, SmallTest] = field(default_factory=dict)
    repairs: Mapping[str, SmallRepair] = field(default_factory=dict)
    access: Mapping[str, SmallStep] = field(default_factory=dict)
    ending: float | None = None
