"""The distribution function of a spread of true values."""

from __future__ import annotations

from collections.abc import Callable
from math import erf, log, sqrt

from diag.knowledge.types import Spread

FAR = 8.0  # standard deviations: beyond them lies less than 1e-15


def cumulative(spread: Spread) -> Callable[[float], float]:
    """P(true value <= x) as a function of x, in the unit of the spread's figures."""
    told = {name: number.value for name, number in spread.numbers.items()}
    raw = _RAW[spread.shape](told)
    least, greatest = support(spread)
    below, above = raw(least), raw(greatest)
    return lambda x: min(max((raw(x) - below) / (above - below), 0.0), 1.0)


def support(spread: Spread) -> tuple[float, float]:
    """Where the true value lies, but for the far tails."""
    told = {name: number.value for name, number in spread.numbers.items()}
    if spread.shape == "normal":
        ends = (told["middle"] - FAR * told["spread"], told["middle"] + FAR * told["spread"])
    elif spread.shape == "lognormal":
        ends = (told["middle"] / told["factor"] ** FAR, told["middle"] * told["factor"] ** FAR)
    else:
        ends = (told["least"], told["greatest"])
    return max(ends[0], told.get("least", ends[0])), min(ends[1], told.get("greatest", ends[1]))


def below(z: float) -> float:
    """P(standard normal <= z)."""
    return 0.5 * (1.0 + erf(z / sqrt(2.0)))


def _normal(told: dict[str, float]) -> Callable[[float], float]:
    return lambda x: below((x - told["middle"]) / told["spread"])


def _lognormal(told: dict[str, float]) -> Callable[[float], float]:
    return lambda x: below(log(x / told["middle"]) / log(told["factor"])) if x > 0 else 0.0


def _uniform(told: dict[str, float]) -> Callable[[float], float]:
    return lambda x: min(max((x - told["least"]) / (told["greatest"] - told["least"]), 0.0), 1.0)


_RAW: dict[str, Callable[[dict[str, float]], Callable[[float], float]]] = {
    "normal": _normal,
    "lognormal": _lognormal,
    "uniform": _uniform,
}
