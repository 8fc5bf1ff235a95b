"""Readings: every state has its spread of values, figures make sense, names and fault codes are used once."""

from __future__ import annotations

import re
from collections.abc import Iterator

from diag.knowledge.spreads import cumulative, support
from diag.knowledge.types import Finding, Knowledge, ReadingModel, Spread
from diag.knowledge.walk import entries, readings
from diag.text import Problem

CYLINDER_STATES = ("even", "one_low", "neighbours_low", "all_low")
FAULT_CODE = re.compile(r"[PCBU][0-3][0-9A-F]{3}")
_STEPS = 200


def reading_values(knowledge: Knowledge) -> list[Problem]:
    """Every state of a finding with a reading has a spread of true values that is one."""
    return [problem for finding, reading in readings(knowledge) for problem in _value_problems(finding, reading)]


def reading_figures(knowledge: Knowledge) -> list[Problem]:
    """Errors are above nought, and a slip of the pen can be told from a reading."""
    hint = "scatter above 0, error 0 or more, least below greatest; relative wants least of 0 or more."
    return [
        Problem(reading.mark, "reading-figures", f"{finding.id}: the figures of the reading make no sense.", hint)
        for finding, reading in readings(knowledge)
        if not _make_sense(reading)
    ]


def one_sided_readings(knowledge: Knowledge) -> list[Problem]:
    """Where one side alone speaks against the first state, every other state lies on that side of it."""
    message = "one_sided: the values of {} do not lie on the bad side of those of {}."
    return [
        Problem(
            reading.mark,
            "reading-one-sided",
            message.format(state, finding.states[0]),
            "Give it values that are nowhere likelier to be on the good side, or leave one_sided out.",
        )
        for finding, reading in readings(knowledge)
        if reading.one_sided != "none" and not list(_value_problems(finding, reading))
        for state in finding.states[1:]
        if not _beside(reading.values[finding.states[0]], reading.values[state], reading.one_sided == "high")
    ]


def reading_names(knowledge: Knowledge) -> list[Problem]:
    """The short id of a reading is nobody's id, and a fault code belongs to one finding and one of its states."""
    taken = {entry.id for entry in entries(knowledge)} | {old for e in entries(knowledge) for old in e.formerly}
    found = []
    for finding, reading in readings(knowledge):
        if reading.short in taken and reading.short != finding.id:
            message = f"the short id {reading.short!r} is taken."
            found.append(Problem(reading.mark, "reading-short", message, "Take another one."))
        taken.add(reading.short)
    return found


def fault_codes(knowledge: Knowledge) -> list[Problem]:
    """A fault code is written as codes are, means a state of its finding, and stands at one finding."""
    found, owners = [], dict[str, str]()
    for finding in knowledge.findings.values():
        for code, state in finding.codes.items():
            if not FAULT_CODE.fullmatch(code) or state not in finding.states or code in owners:
                message = f"{finding.id}: the fault code {code!r} cannot mean {state!r} here."
                hint = "Write it as P0128: STATE, a state of this finding, each code at one finding."
                found.append(Problem(finding.mark, "fault-code", message, hint))
            owners[code] = finding.id
    return found


def _value_problems(finding: Finding, reading: ReadingModel) -> Iterator[Problem]:
    if reading.form == "cylinders":
        if finding.states != CYLINDER_STATES:
            message = f"{finding.id}: readings of all cylinders need the states {', '.join(CYLINDER_STATES)}."
            yield Problem(reading.mark, "reading-values", message, "Write these states.")
        return
    for state in finding.states:
        if state not in reading.values or not _is_spread(reading.values[state]):
            message = f"{finding.id}: the reading has no spread of values for {state!r}."
            hint = f"Add {state}: {{shape: normal, middle: ..., spread: ...}}; spreads above 0, factors above 1."
            yield Problem(reading.mark, "reading-values", message, hint)


def _is_spread(spread: Spread) -> bool:
    told = {name: number.value for name, number in spread.numbers.items()}
    if told.get("spread", 1.0) <= 0 or told.get("factor", 2.0) <= 1:
        return False
    if spread.shape == "lognormal" and told["middle"] <= 0:
        return False
    least, greatest = support(spread)
    return least < greatest


def _make_sense(reading: ReadingModel) -> bool:
    limit = reading.limit is None or reading.limit.value > 0
    factor = reading.limit_factor is None or reading.limit_factor.value > 1
    errors = reading.scatter.value > 0 and reading.error.value >= 0
    ends = reading.least.value < reading.greatest.value and not (reading.relative and reading.least.value < 0)
    return limit and factor and errors and ends


def _beside(sound: Spread, other: Spread, high: bool) -> bool:
    """Whether ``other`` is stochastically at least (``high``) or at most ``sound``."""
    least = min(support(sound)[0], support(other)[0])
    greatest = max(support(sound)[1], support(other)[1])
    one, two = cumulative(sound), cumulative(other)
    steps = [least + (greatest - least) * i / _STEPS for i in range(_STEPS + 1)]
    return all((two(x) <= one(x) + 1e-9) if high else (two(x) >= one(x) - 1e-9) for x in steps)
