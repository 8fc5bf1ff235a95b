"""The text of a reading into the figures that its model takes, each form of text one function."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from diag.knowledge.types import Finding, ReadingModel
from diag.measure import coolant
from diag.measure.cylinders import rise_with_oil
from diag.measure.misread import Misread, Refused
from diag.measure.obd import with_parameters
from diag.measure.pressure_test import TEST_PRESSURE, drop_in_ten_minutes, drop_of_volume, volume_shrunk
from diag.measure.quantities import Bound, in_unit, read_figures
from diag.measure.vehicle import Vehicle

_DRY = re.compile(r"\b(standing|stood|months|dry bores)\b")
_JUST_NUMBERS = re.compile(r"[-+−.\d\s/]+")
FEWEST_CYLINDERS = 2
COOLS_BY = 2.0  # K: one standard deviation of what nobody told, on a cold or lukewarm engine (judgement)


@dataclass(frozen=True, slots=True)
class Reading:
    """What a text tells: figures in the model's unit, in groups (banks); the state said beside them, or "".

    bound: the needle stood at or beyond an end. limit: told with the reading ("of 1.1 bar"). more_scatter: in the
    model's unit, for what was not told. note: what was done to the figure, in words. lies_low: the first turns
    after long standing, with dry bores.
    """

    groups: tuple[tuple[float, ...], ...]
    bound: Bound = ""
    said: str = ""
    limit: float | None = None
    more_scatter: float = 0.0
    note: str = ""
    lies_low: bool = False

    @property
    def values(self) -> tuple[float, ...]:
        """All figures in order."""
        return tuple(value for group in self.groups for value in group)


def read_text(text: str, finding: Finding, vehicle: Vehicle) -> Reading | Misread:
    """The reading that ``text`` tells of a finding with a reading model."""
    assert finding.reading is not None
    try:
        return _read(text, finding, finding.reading, vehicle)
    except Refused as refused:
        return refused.misread


def _read(text: str, finding: Finding, model: ReadingModel, vehicle: Vehicle) -> Reading:
    main, *more = _clauses(with_parameters(text))
    said = said_state(more[-1], finding) if more and model.said else ""
    reading = _FORMS[model.form](main, more[:-1] if said else more, model, vehicle)
    least, greatest = model.least.value, model.greatest.value
    for value in reading.values:
        if not least <= value <= greatest:
            hint = f"It lies between {least:g} and {greatest:g} {model.unit}; look for a slipped point or another unit."
            raise Refused(f"{value:.4g} {model.unit} cannot be.", hint)
    return replace(reading, said=said)


def said_state(text: str, finding: Finding) -> str:
    """The state that a word tells: its id, what it is called, or a part of its id that no other has; else ""."""
    plain = " ".join(text.casefold().replace("_", " ").split())
    for state in finding.states:
        if plain in (state.replace("_", " "), finding.words.get(state, "").casefold()):
            return state
    parts = [s for s in finding.states if set(plain.split()) & set(s.split("_"))]
    return parts[0] if len(parts) == 1 else ""


def _clauses(text: str) -> list[str]:
    """The parts between commas; a list of bare numbers with commas is one part."""
    parts = [part.strip() for part in re.split(r"[,;]\s+", text.strip())]
    while len(parts) > 1 and _JUST_NUMBERS.fullmatch(parts[0]):
        parts[:2] = [f"{parts[0]} {parts[1]}"]
    return parts


def _refuse(more: list[str]) -> None:
    if more:
        raise Refused(f"'{more[0]}' is not understood here.", "Leave it out, or put it into --note.")


def _figures(text: str, unit: str, vehicle: Vehicle) -> tuple[float, ...]:
    return in_unit(read_figures(text), unit, vehicle.ambient)


def _single(text: str, model: ReadingModel, vehicle: Vehicle) -> tuple[float, Bound]:
    figures = read_figures(text)
    values = in_unit(figures, model.unit, vehicle.ambient)
    if len(values) != 1:
        raise Refused(f"one figure is wanted, here are {len(values)}.", "Record several readings one by one.")
    return values[0], figures.bound


def _value(main: str, more: list[str], model: ReadingModel, vehicle: Vehicle) -> Reading:
    """``0.08 mm``; where there is a limit also ``0.85 bar of 1.1 bar``."""
    _refuse(more)
    text, of, mark = main.partition(" of ")
    value, bound = _single(text, model, vehicle)
    limit = _single(mark, model, vehicle)[0] if of else None
    if limit is not None and (model.limit is None or limit <= 0):
        raise Refused("there is no mark to compare it with here.", "Leave out what stands after 'of'.")
    return Reading(((value,),), bound, limit=limit)


def _rise(main: str, more: list[str], _model: ReadingModel, vehicle: Vehicle) -> Reading:
    """``4.2 to 6.8 bar``: by how many per cent the second is above the first."""
    _refuse(more)
    values = _figures(main.replace(" to ", " "), "bar", vehicle)
    if len(values) != 2 or min(values) <= 0:
        raise Refused("two figures above nought are wanted.", "Write dry and wet, such as 4.2 to 6.8 bar.")
    return Reading(((rise_with_oil(values[0], values[1]),),))


def _drop(main: str, more: list[str], _model: ReadingModel, vehicle: Vehicle) -> Reading:
    """``0.15 bar in 10 min``, or ``1.1 to 0.95 bar in 10 min``; then, if told, ``50 to 45 C`` of the coolant."""
    _refuse(more[1:])
    pressure, within, time = main.partition(" in ")
    if not within:
        raise Refused("the time is missing.", "Write it as 0.15 bar in 10 min.")
    minutes = _figures(time, "min", vehicle)
    told = _figures(pressure.replace(" to ", " "), "kPa", vehicle)
    celsius = _figures(more[0].replace(" to ", " "), "C", vehicle) if more else ()
    if len(minutes) != 1 or minutes[0] <= 0 or len(told) > 2 or len(celsius) == 1:
        raise Refused("a drop and its time are wanted.", "Write it as 0.15 bar in 10 min, 50 to 45 C.")
    gauge, drop = (told[0], told[0] - told[1]) if len(told) == 2 else (TEST_PRESSURE, told[0])
    if gauge <= 0 or drop > gauge:
        hint = "Tell both, such as 1.1 to 0.95 bar in 10 min."
        raise Refused(f"it cannot fall by {drop:g} kPa from {gauge:g}.", hint)
    return _corrected_drop(drop, minutes[0], gauge, celsius, vehicle)


def _corrected_drop(drop: float, minutes: float, gauge: float, celsius: tuple[float, ...], vehicle: Vehicle) -> Reading:
    cooled = _drop_by_cooling(celsius or (50.0, 49.0), gauge, vehicle)
    if not celsius:
        note = "how far the coolant cooled meanwhile was not told, so a small drop says little"
        left = drop_in_ten_minutes(drop, minutes, gauge)
        return Reading(((left,),), more_scatter=COOLS_BY * cooled, note=note)
    left = drop_in_ten_minutes(drop - cooled, minutes, gauge)
    note = f"cooling explains {cooled:.2g} of {drop:.3g} kPa"
    return Reading(((left,),), more_scatter=0.3 * abs(cooled), note=note)


def _drop_by_cooling(celsius: tuple[float, ...], gauge: float, vehicle: Vehicle) -> float:
    shrunk = volume_shrunk(vehicle.coolant, celsius[0], celsius[1])
    return drop_of_volume(shrunk, gauge, vehicle.air_space, vehicle.figures.get("altitude", 0.0))


def _mix(main: str, more: list[str], model: ReadingModel, vehicle: Vehicle) -> Reading:
    """``33 %``, a freezing point ``-18 C``, or a float's figure ``1.055 at 20 C``."""
    _refuse(more)
    text, at, temperature = main.partition(" at ")
    figures = read_figures(text)
    hint = f"Write 33 {model.unit}, a freezing point -18 C, or a float 1.055 at 20 C."
    if len(figures.values) != 1:
        raise Refused("one figure is wanted.", hint)
    (value,) = figures.values
    if figures.kind == "temperature" and not at:
        (freezing,) = in_unit(figures, "C")
        share = coolant.share_of_freezing_point(freezing)
        return Reading(((share,),), figures.bound, note=f"{freezing:.3g} C is about {share:.2g} % by the service table")
    if not figures.kind and coolant.LIGHTEST <= value <= coolant.HEAVIEST:
        return _float(value, _figures(temperature, "C", vehicle) if at else ())
    if figures.kind == "share" and not at:
        return Reading(figures.groups, figures.bound)
    raise Refused(f"'{main}' is no mix.", hint)


def _float(gravity: float, celsius: tuple[float, ...]) -> Reading:
    if not celsius:
        share = coolant.share_of_gravity(gravity, coolant.FLOAT_TEMPERATURE)
        note = (
            f"the sample's temperature was not told; about {share:.2g} % if it was at {coolant.FLOAT_TEMPERATURE:g} C"
        )
        return Reading(((share,),), more_scatter=coolant.GRAVITY_SCATTER, note=note)
    share = coolant.share_of_gravity(gravity, celsius[0])
    return Reading(((share,),), note=f"a float at {celsius[0]:.3g} C: about {share:.2g} %")


def _cylinders(main: str, more: list[str], model: ReadingModel, vehicle: Vehicle) -> Reading:
    """``8.1 8.0 4.2 4.4 bar``, in the order in which they stand; ``/`` between two banks; then ``after months``."""
    dry = bool(more) and _DRY.search(more[0]) is not None
    _refuse(more[1:] if dry else more)
    figures = read_figures(main)
    values = in_unit(figures, model.unit, vehicle.ambient)
    wanted = vehicle.cylinders
    if len(values) < FEWEST_CYLINDERS or (wanted is not None and len(values) != wanted):
        many = f"for {wanted} cylinders" if wanted else "of all cylinders"
        hint = f"Give one value for each, {many}, in their order."
        raise Refused(f"{len(values)} {'value does' if len(values) == 1 else 'values do'} not fit.", hint)
    if figures.bound:
        hint = "Write the gauge's last mark where the needle stood at it."
        raise Refused("each cylinder needs its figure.", hint)
    rest = iter(values)
    note = "first turns after long standing read low" if dry else ""
    return Reading(tuple(tuple(next(rest) for _ in group) for group in figures.groups), lies_low=dry, note=note)


_FORMS: Mapping[str, Callable[[str, list[str], ReadingModel, Vehicle], Reading]] = {
    "value": _value,
    "difference": _value,
    "rise": _rise,
    "drop": _drop,
    "mix": _mix,
    "cylinders": _cylinders,
}
