"""The known words nearest to an unknown one, for hints."""

from __future__ import annotations

from collections.abc import Iterable

CLOSE_ENOUGH = 60.0  # of 100; below it the guess costs the reader more than it helps


def nearest(word: str, known: Iterable[str], limit: int = 3) -> tuple[str, ...]:
    """At most ``limit`` of the ``known`` words that resemble ``word``, the nearest first.

    Letters swapped or left out and parts in another order (``stuck_thermostat``) both count; equal
    likeness is sorted by the alphabet, so that the answer is the same on every run.
    """
    scored = ((_likeness(word, other), other) for other in set(known))
    close = sorted((-score, other) for score, other in scored if score >= CLOSE_ENOUGH)
    return tuple(other for _, other in close[:limit])


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A hint that names the nearest known words; empty where none is near."""
    words = nearest(word, known)
    return f"Did you mean {' or '.join(words)}?" if words else ""


def _likeness(word: str, other: str) -> float:
    from rapidfuzz import fuzz  # only where somebody mistyped: most runs never need it

    left, right = (text.lower().replace("_", " ") for text in (word, other))
    return max(fuzz.ratio(left, right), fuzz.token_sort_ratio(left, right))
