"""What the own manual says of a vehicle, and where it stands: figures that win over the generic ones."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from diag.knowledge.types import Finding
from diag.measure.air import HIGHEST, pressure_at_altitude
from diag.measure.misread import Misread, Refused
from diag.measure.pressure_test import AIR_SPACE, COOLANT
from diag.measure.quantities import in_unit, read_figures
from diag.text import did_you_mean

MOST_CYLINDERS = 16
USUAL_CAP = 1.03  # bar, the mark of one light truck (military light-truck manual); cars have 0.9 to 1.5

# Figures of a vehicle that belong to no finding: unit, least and greatest.
FIGURES: Mapping[str, tuple[str, float, float]] = {
    "cylinders": ("", 2, MOST_CYLINDERS),
    "altitude": ("m", -500, HIGHEST),
    "coolant": ("L", 1, 200),
    "air_space": ("L", 0.1, 20),
    "cap": ("bar", 0.2, 3),
}


@dataclass(frozen=True, slots=True)
class Vehicle:
    """figures: those of FIGURES that were told. limits: by finding, in the unit of its reading."""

    figures: Mapping[str, float] = field(default_factory=dict)
    limits: Mapping[str, float] = field(default_factory=dict)

    @property
    def ambient(self) -> float:
        """Pressure of the air, kPa."""
        return pressure_at_altitude(self.figures.get("altitude", 0.0))

    @property
    def coolant(self) -> float:
        """L of coolant."""
        return self.figures.get("coolant", COOLANT)

    @property
    def air_space(self) -> float:
        """L of air above the coolant."""
        return self.figures.get("air_space", AIR_SPACE)

    @property
    def cap(self) -> float:
        """Mark on the cap, kPa."""
        return 100.0 * self.figures.get("cap", USUAL_CAP)

    def limit_of(self, finding: Finding) -> float | None:
        """The vehicle's own limit of a finding, in the unit of its reading; None where nobody told it."""
        assert finding.reading is not None
        return self.limits.get(finding.id) or self.figures.get(finding.reading.limit_from)

    @property
    def cylinders(self) -> int | None:
        """How many cylinders; None where nobody said."""
        told = self.figures.get("cylinders")
        return None if told is None else int(told)


def vehicle_of(told: Iterable[tuple[str, str]], findings: Sequence[Finding]) -> Vehicle:
    """The vehicle that (name, text) pairs tell, the last word on each; what cannot be read is left out."""
    figures, limits = dict[str, float](), dict[str, float]()
    for name, text in told:
        value = read_figure(name, text, findings)
        finding = limited_finding(name, findings)
        if not isinstance(value, Misread):
            (limits if finding else figures)[finding.id if finding else name] = value
    return Vehicle(figures, limits)


def read_figure(name: str, text: str, findings: Sequence[Finding]) -> float | Misread:
    """The value of a vehicle's own figure, in its unit."""
    finding = limited_finding(name, findings)
    if finding is None and name not in FIGURES:
        known = [*FIGURES, *(f.reading.short for f in _limited(findings) if f.reading)]
        return Misread(f"no figure '{name}' is used.", did_you_mean(name, known) or f"Known are {', '.join(known)}.")
    try:
        return _figure(text, *_bounds(finding, name))
    except Refused as refused:
        return refused.misread


def _figure(text: str, unit: str, least: float, greatest: float) -> float:
    figures = read_figures(text)
    values = in_unit(figures, unit) if unit else figures.values
    if len(values) != 1 or not least <= values[0] <= greatest or (not unit and values[0] % 1):
        raise Refused(f"'{text}' cannot be.", f"Give one figure from {least:g} to {greatest:g} {unit}".rstrip() + ".")
    return values[0]


def limited_finding(name: str, findings: Iterable[Finding]) -> Finding | None:
    """The finding whose limit goes by this id or short id, or None."""
    return next((f for f in _limited(findings) if f.reading and name in (f.id, f.reading.short)), None)


def _limited(findings: Iterable[Finding]) -> Iterable[Finding]:
    return (f for f in findings if f.reading and (f.reading.limit or f.reading.form == "cylinders"))


def _bounds(finding: Finding | None, name: str) -> tuple[str, float, float]:
    if finding is None or finding.reading is None:
        return FIGURES[name]
    reading = finding.reading
    return reading.unit, max(reading.least.value, 1e-6), reading.greatest.value
