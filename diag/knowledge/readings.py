"""The ``reading:`` section of a finding: how a figure of an instrument tells of its states."""

from __future__ import annotations

from collections.abc import Mapping
from typing import get_args

from diag.knowledge.fields import Fields
from diag.knowledge.types import Form, Number, ReadingModel, Shape, Side, Spread, Unit

_BY_SHAPE: Mapping[str, tuple[str, ...]] = {
    "normal": ("middle", "spread"),
    "lognormal": ("middle", "factor"),
    "uniform": ("least", "greatest"),
}
_ENDS = ("least", "greatest")

# What a pattern over several figures has of its own numbers; their meaning stands in diag.measure.
PATTERN_FIGURES: Mapping[str, tuple[str, ...]] = {
    "cylinders": (
        "limit_of_highest",
        "low_least",
        "low_most",
        "unevenness",
        "two_apart",
        "petrol",
        "diesel",
        "share_diesel",
        "level_factor",
        "all_low_least",
        "all_low_most",
    ),
}


def read_reading(fields: Fields, states: tuple[str, ...]) -> ReadingModel | None:
    """The reading inside a finding with these states, or None."""
    inner = fields.nested("reading")
    if inner is None:
        return None
    form = inner.word("form", get_args(Form))
    own = PATTERN_FIGURES.get(form, ())
    reading = ReadingModel(
        form=form,
        unit=inner.word("unit", get_args(Unit)),
        short=inner.text("short"),
        values={} if own else _values(inner, states),
        error=inner.number("error"),
        scatter=inner.number("scatter"),
        least=inner.number("least"),
        greatest=inner.number("greatest"),
        mark=inner.mark,
        relative=inner.flag("relative"),
        limit=inner.number_or_none("limit"),
        limit_factor=inner.number_or_none("limit_factor"),
        stop=inner.number_or_none("stop"),
        one_sided=inner.word("one_sided", get_args(Side), "none"),
        said=inner.number_or_none("said"),
        figures={name: inner.number(name) for name in own},
        limit_from=inner.text("limit_from", needed=False),
        between=inner.texts("between"),
    )
    inner.close()
    return reading


def _values(fields: Fields, states: tuple[str, ...]) -> dict[str, Spread]:
    inner = fields.nested("values")
    if inner is None:
        return {}
    found = {}
    for state in states:
        spread = inner.nested(state)
        if spread is not None:
            found[state] = _spread(spread)
    inner.close()
    return found


def _spread(fields: Fields) -> Spread:
    shape = fields.word("shape", get_args(Shape))
    numbers: dict[str, Number] = {name: fields.number(name) for name in _BY_SHAPE[shape]}
    for name in _ENDS:
        end = None if name in numbers else fields.number_or_none(name)
        if end is not None:
            numbers[name] = end
    fields.close()
    return Spread(shape, numbers, fields.mark)
