"""Figures in the words of a workshop. Judgement is never shown with decimals it has not got."""

from __future__ import annotations

from diag.knowledge.types import Number

# How much a test tells, in bits. A perfect test of a suspicion that stands at 1 in 20 gives 0.3 bit, at 1 in 75
# it gives 0.1 bit: "much" settles a serious suspicion, "some" a slight one.
MUCH = 0.3
SOME = 0.1

_CERTAIN = 0.985
NEVER = 0.008
# Above the number: the words. Tenths are as fine as an estimate goes; the tails are cut coarser still.
_TAILS = ((0.075, ""), (0.035, "about 1 in 20"), (0.015, "about 1 in 50"), (NEVER, "about 1 in 100"))
_LIKELIHOOD = (
    (0.95, "almost certain"),
    (0.8, "very likely"),
    (0.6, "likely"),
    (0.4, "as likely as not"),
    (0.15, "possible"),
)
_GRADES = {
    "published": "seen in a published source",
    "computed": "worked out from physics or arithmetic",
    "common_practice": "rule of the trade",
    "from_memory": "from memory of a standard or textbook",
    "judgement": "an estimate",
}


def tells(gain: float) -> str:
    """How much a test tells: ``gain`` in bits."""
    return "tells much" if gain >= MUCH else "tells some" if gain >= SOME else "tells little"


def chance(p: float) -> str:
    """A probability as a count of cases: about 3 in 10."""
    if p >= _CERTAIN:
        return "nearly always"
    if p < NEVER:
        return "less than 1 in 100"
    words = next(words for least, words in _TAILS if p >= least)
    return words or ("more than 9 in 10" if p > 0.95 else f"about {min(max(round(p * 10), 1), 9)} in 10")


def likelihood(p: float) -> str:
    """A probability as a word: likely."""
    return next((word for least, word in _LIKELIHOOD if p >= least), "unlikely")


def odds(p: float) -> str:
    """A probability as a bet in whole numbers: 4 to 1 for."""
    if p >= _CERTAIN or p <= 1 - _CERTAIN:
        return "over 50 to 1 for" if p > 0.5 else "over 50 to 1 against"
    ratio = max(p, 1 - p) / min(p, 1 - p)
    if ratio < 1.25:
        return "evens"
    bet = "3 to 2" if ratio < 1.75 else f"{round(ratio)} to 1"
    return f"{bet} {'for' if p > 0.5 else 'against'}"


def duration(minutes: float) -> str:
    """Minutes as one would say them: 15 minutes, 2 1/2 hours."""
    if minutes < 1:
        return "no time of its own"
    if minutes < 90:
        whole = round(minutes) if minutes < 10 else 5 * round(minutes / 5)
        return "1 minute" if whole == 1 else f"{whole} minutes"
    halves = round(minutes / 30)
    return f"{halves // 2} {'1/2 ' if halves % 2 else ''}hours"


def money(amount: float) -> str:
    """What is to be bought."""
    if amount < 0.5:
        return "nothing to buy"
    step = 1 if amount < 20 else 5 if amount < 100 else 10
    return f"about {step * round(amount / step)} to spend"


def per_cent(p: float) -> str:
    """A probability for those who asked for numbers."""
    return f"{100 * p:.1f} %"


def grade(number: Number) -> str:
    """How well a number is known."""
    return _GRADES[number.grade]


def graded(number: Number) -> str:
    """A number of the knowledge base as it was written, its range, and how well it is known."""
    span = "" if number.low is None or number.high is None else f" ({number.low:g} to {number.high:g})"
    source = f": {number.reference}" if number.reference else ""
    return f"{number.value:g}{span}, {grade(number)}{source}"
