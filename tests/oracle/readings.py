"""Readings written in a line: spreads, models, findings."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from oracle.knowledge import HERE, finding, number, numbers

from diag.knowledge.types import Finding, ReadingModel, Spread
from diag.measure.forms import Reading
from diag.measure.likelihood import Taken


def normal(middle: float, spread: float, **ends: float) -> Spread:
    return Spread("normal", numbers({"middle": middle, "spread": spread, **ends}), HERE)


def lognormal(middle: float, factor: float, **ends: float) -> Spread:
    return Spread("lognormal", numbers({"middle": middle, "factor": factor, **ends}), HERE)


def uniform(least: float, greatest: float) -> Spread:
    return Spread("uniform", numbers({"least": least, "greatest": greatest}), HERE)


def measured_finding(
    name: str,
    values: Mapping[str, Spread],
    error: float = 0.5,
    scatter: float = 0.3,
    *,
    relative: bool = False,
    limit: float | None = None,
    limit_factor: float | None = None,
    stop: float | None = None,
    one_sided: str = "none",
    said: float | None = None,
    form: str = "value",
    unit: str = "bar",
    greatest: float = 1000.0,
) -> Finding:
    """A finding whose states are those of ``values``, in their order."""
    states = tuple(values)
    model = ReadingModel(
        form=form,  # type: ignore[arg-type]
        unit=unit,  # type: ignore[arg-type]
        short=f"{name}_figure",
        values=values,
        error=number(error),
        scatter=number(scatter),
        least=number(0.0 if relative else -greatest),
        greatest=number(greatest),
        mark=HERE,
        relative=relative,
        limit=None if limit is None else number(limit),
        limit_factor=None if limit_factor is None else number(limit_factor),
        stop=None if stop is None else number(stop),
        one_sided=one_sided,  # type: ignore[arg-type]
        said=None if said is None else number(said),
    )
    return replace(finding(name, dict.fromkeys(states[1:], 0.05), states), reading=model)


def read(value: float | Sequence[float], instrument: str = "", **more: object) -> Taken:
    values = (value,) if isinstance(value, int | float) else tuple(value)
    return Taken(Reading((values,), **more), instrument)  # type: ignore[arg-type]
