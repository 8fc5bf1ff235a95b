"""Compressions of cylinders in plain arithmetic: ratios, which are low, which stand beside each other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

TOO_HIGH = 1.2  # times the second highest: no sound cylinder stands so far above the others (judgement)


def lowest_to_highest(values: Sequence[float]) -> float:
    """Ratio of the lowest compression to the highest. At least 0.75 in a sound engine (TM 5-4210-230-14&P-1)."""
    return min(values) / max(values)


def low_cylinders(values: Sequence[float], limit: float) -> tuple[int, ...]:
    """The cylinders, from 1, below ``limit`` times the highest."""
    return tuple(place for place, value in enumerate(values, start=1) if value < limit * max(values))


def beside_each_other(cylinders: Sequence[int], groups: Sequence[int]) -> bool:
    """Whether these are two neighbours in one bank; ``groups``: cylinders in each bank, in order."""
    return tuple(cylinders) in set(neighbours(groups))


def too_high(values: Sequence[float]) -> int | None:
    """The cylinder, from 1, that stands far above all others: liquid or carbon in it; None where there is none."""
    ranked = sorted(values)
    if len(values) < 3 or ranked[-1] <= TOO_HIGH * ranked[-2]:
        return None
    return list(values).index(ranked[-1]) + 1


def rise_with_oil(dry: float, wet: float) -> float:
    """By how many per cent the compression rises with a spoonful of oil: rings where clearly (TM 5-4210-230-14&P-1)."""
    return 100.0 * (wet / dry - 1.0)


def ideal_compression(ratio: float, exponent: float, ambient: float = 101.325) -> float:
    """Gauge pressure, kPa, of a cylinder closed at the bottom and compressed by ``ratio``: p0 CR^n - p0.

    exponent: 1.15 to 1.25 while cranking. Real gauges read 70 to 90 per cent of it (late closing, leakage).
    """
    return float(ambient * (ratio**exponent - 1.0))


def neighbours(groups: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Pairs of cylinders, from 1, that stand beside each other."""
    first = 1
    for size in groups:
        yield from ((place, place + 1) for place in range(first, first + size - 1))
        first += size
