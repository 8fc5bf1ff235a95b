"""What must hold for single numbers: their bounds, their range, their grade and their source."""

from __future__ import annotations

import re
from collections.abc import Iterator

from diag.knowledge.types import GRADES_WITH_REFERENCE, Knowledge, Number
from diag.knowledge.walk import Role, numbers, texts
from diag.text import Problem, did_you_mean

# A factor beyond these says that a fact all but proves or rules out a cause; then it is a finding.
LEAST_FACTOR, GREATEST_FACTOR = 0.01, 100.0
# P(yes | cause) = base x factor never goes above this: no memory is that sure.
GREATEST_SHARE = 0.98

_WORD = re.compile(r"[a-z][a-z0-9_]*")
_BOUNDS: dict[Role, tuple[float, float]] = {
    "probability": (0.0, 1.0),
    "amount": (0.0, 1e6),
    "weight": (0.0, 100.0),
    "factor": (LEAST_FACTOR, GREATEST_FACTOR),
    "reading": (-1e6, 1e6),
}


def bounds(knowledge: Knowledge) -> list[Problem]:
    """Value and range of a number lie inside what it can mean; a weight is above nought."""
    return [problem for number, role in numbers(knowledge) for problem in _outside(number, role)]


def ranges(knowledge: Knowledge) -> list[Problem]:
    """The range of a number holds its value."""
    return [
        Problem(
            number.mark,
            "range-misses-value",
            f"the value {number.value:g} is not within {number.low:g}..{number.high:g}.",
            "Write LOW, then HIGH, with the value between them.",
        )
        for number, _ in numbers(knowledge)
        if number.low is not None and number.high is not None
        if not number.low <= number.value <= number.high
    ]


def judgements(knowledge: Knowledge) -> list[Problem]:
    """A judgement says how far it may be off."""
    hint = "Add (LOW..HIGH): you would be surprised to find it outside."
    return [
        Problem(number.mark, "judgement-without-range", "a judgement needs a range.", hint)
        for number, _ in numbers(knowledge)
        if number.grade == "judgement" and number.low is None
    ]


def references(knowledge: Knowledge) -> list[Problem]:
    """A published or computed number names its source."""
    hint = "Name an entry of references.yaml, or grade the number as what it is."
    return [
        Problem(number.mark, "missing-reference", f"a {number.grade} number needs a reference.", hint)
        for number, _ in numbers(knowledge)
        if number.grade in GRADES_WITH_REFERENCE and number.reference is None
    ]


def unknown_references(knowledge: Knowledge) -> list[Problem]:
    """A reference that a number names is there."""
    known = knowledge.references
    return [
        Problem(
            number.mark,
            "unknown-reference",
            f"there is no reference {number.reference!r}.",
            did_you_mean(number.reference, known) or "Add it to references.yaml.",
        )
        for number, _ in numbers(knowledge)
        if number.reference is not None and number.reference not in known
    ]


def unused_references(knowledge: Knowledge) -> list[Problem]:
    """A reference is named by some number or text; one that is not is a warning."""
    used = {number.reference for number, _ in numbers(knowledge)}
    used.update(word for _, text in texts(knowledge) for word in _WORD.findall(text))
    message, hint = "no number and no text names this reference.", "Name it, or take it out."
    return [
        Problem(entry.mark, "unused-reference", f"{name}: {message}", hint, "warning")
        for name, entry in knowledge.references.items()
        if name not in used
    ]


def capped_factors(knowledge: Knowledge) -> list[Problem]:
    """Base times factor stays below the cap; beyond it the factor says more than is used: a warning."""
    return [
        Problem(
            factor.mark,
            "factor-capped",
            f"{fact.base.value:g} x {factor.value:g} is above {GREATEST_SHARE}, where it is cut off.",
            f"A factor of {GREATEST_SHARE / fact.base.value:.2g} says all that can be said.",
            "warning",
        )
        for fact in knowledge.history.values()
        for factor in fact.factors.values()
        if fact.base.value * factor.value > GREATEST_SHARE
    ]


def coexistence_above_nought(knowledge: Knowledge) -> list[Problem]:
    """Some second fault can be there: P(e | cause) is worked out from it."""
    told = knowledge.model.get("coexistence")
    if told is None or told.value.value > 0:
        return []
    message = "a coexistence of 0 says that no vehicle ever has two faults."
    return [Problem(told.value.mark, "out-of-range", message, "Give it a small probability.")]


def _outside(number: Number, role: Role) -> Iterator[Problem]:
    least, greatest = _BOUNDS[role]
    told = [value for value in (number.value, number.low, number.high) if value is not None]
    if role == "weight" and number.value == 0:
        hint = "Take the cause out, or give it a small weight."
        yield Problem(number.mark, "out-of-range", "a weight of 0 says that it never happens.", hint)
    elif not all(least <= value <= greatest for value in told):
        code = "factor-out-of-range" if role == "factor" else "out-of-range"
        message = f"a {role} lies within {least:g}..{greatest:g}."
        yield Problem(number.mark, code, message, "Look for a slipped point or a missing nought.")
