"""What a reading was taken to be, in words, before anything is concluded from it."""

from __future__ import annotations

from diag.knowledge.types import Finding, ReadingModel
from diag.measure.coolant import boiling_point, freezing_point
from diag.measure.cylinders import beside_each_other, low_cylinders, lowest_to_highest, too_high
from diag.measure.forms import Reading
from diag.measure.likelihood import Taken, bounded, cells_of, limit_of, scaled
from diag.measure.vehicle import Vehicle

MOST_TO_TELL = 60.0  # per cent of volume: beyond it the freezing point rises again


def taken_as(finding: Finding, one: Taken, vehicle: Vehicle) -> str:
    """A phrase: the pattern, the figure beside its limit, and what bounds it."""
    model = finding.reading
    assert model is not None
    if model.form == "cylinders":
        return _pattern(one.reading, model)
    mix = _mix(one.reading, vehicle) if model.form == "mix" else ""
    parts = [_figure(one.reading, model), mix, _beside_limit(finding, one, vehicle), one.reading.note]
    return "; ".join(part for part in (*parts, _bound(finding, model, one, vehicle)) if part)


def _figure(reading: Reading, model: ReadingModel) -> str:
    word = {"": "", "over": "at least ", "under": "at most "}[reading.bound]
    rate = " in ten minutes" if model.form == "drop" else ""
    return f"{word}{reading.values[0]:.3g} {model.unit}{rate}"


def _mix(reading: Reading, vehicle: Vehicle) -> str:
    """What the mix is good for."""
    share = min(reading.values[0], MOST_TO_TELL)
    altitude = vehicle.figures.get("altitude", 0.0)
    hot, cold = boiling_point(share, vehicle.cap, altitude), freezing_point(share)
    cap = f"{vehicle.cap / 100:.3g} bar" + ("" if "cap" in vehicle.figures else " (tell yours by spec.cap)")
    return f"trust it to {cold:.0f} C of frost, boils at about {hot:.0f} C under a cap of {cap}"


def _beside_limit(finding: Finding, one: Taken, vehicle: Vehicle) -> str:
    model = finding.reading
    assert model is not None
    if model.limit is None:
        return ""
    limit, own = limit_of(finding, (one,), vehicle)
    whose = "this vehicle's own" if own else "a general"
    return f"{one.reading.values[0] / limit:.2g} times {whose} mark of {limit:g} {model.unit}"


def _bound(finding: Finding, model: ReadingModel, one: Taken, vehicle: Vehicle) -> str:
    limit, own = limit_of(finding, (one,), vehicle)
    (value,) = scaled(one.reading.values, model, limit)
    bound, _ = bounded(model, cells_of(finding, own), limit, one.reading.bound, float(value))
    if bound == one.reading.bound:
        return ""
    if model.stop is not None and bound == "over" and one.reading.values[0] >= model.stop.value:
        return f"the gauge ends at {model.stop.value:g} {model.unit}, so at least that"
    return "on the good side, how far does not matter"


def _pattern(reading: Reading, model: ReadingModel) -> str:
    values, limit = reading.values, model.figures["limit_of_highest"].value
    high = too_high(values)
    if high is not None:
        return f"{high} far above all others: liquid or carbon in it, do not crank before the plugs are out"
    share = f"the lowest is {lowest_to_highest(values):.0%} of the highest".replace("%", " per cent")
    low = low_cylinders(values, limit)
    if not low:
        return f"even enough, {share} ({limit:.0%} is the limit)".replace("%", " per cent")
    names = " and ".join(str(place) for place in low)
    beside = " beside each other" if beside_each_other(low, [len(group) for group in reading.groups]) else ""
    return f"{names} low{beside}, {share}" + (f"; {reading.note}" if reading.note else "")
