"""Units as a mechanic writes them, and from one to another. pint is loaded where two units differ."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from pint import UnitRegistry

Kind = Literal[
    "pressure", "temperature", "temperature difference", "length", "time", "current", "voltage", "resistance", "flow",
    "share", "volume",
]  # fmt: skip

# What is written, in lower case -> what it measures, and pint's name of it.
UNITS: Mapping[str, tuple[Kind, str]] = {
    **{word: ("pressure", word) for word in ("bar", "mbar", "psi", "kPa", "MPa", "Pa", "inHg", "mmHg", "atm")},
    **dict.fromkeys(("C", "°C", "degC", "celsius"), ("temperature", "degC")),
    **dict.fromkeys(("F", "°F", "degF", "fahrenheit"), ("temperature", "degF")),
    **dict.fromkeys(("K", "kelvin"), ("temperature difference", "delta_degC")),
    **{word: ("length", word) for word in ("mm", "cm", "m", "thou", "inch", "um")},
    **dict.fromkeys(("µm", "μm", "micron"), ("length", "um")),
    **dict.fromkeys(("in", "inches", '"'), ("length", "inch")),
    **dict.fromkeys(("ft", "feet"), ("length", "foot")),
    **dict.fromkeys(("s", "sec", "seconds"), ("time", "second")),
    **dict.fromkeys(("min", "minute", "minutes"), ("time", "minute")),
    **dict.fromkeys(("h", "hour", "hours"), ("time", "hour")),
    **{word: ("current", word) for word in ("A", "mA")},
    "amps": ("current", "A"),
    **{word: ("voltage", word) for word in ("V", "mV")},
    "volts": ("voltage", "V"),
    **dict.fromkeys(("ohm", "ohms", "Ω", "Ω"), ("resistance", "ohm")),
    **dict.fromkeys(("kohm", "kΩ", "kΩ"), ("resistance", "kohm")),
    "L/min": ("flow", "L/min"),
    "gpm": ("flow", "gallon/min"),
    "%": ("share", "percent"),
    "percent": ("share", "percent"),
    **{word: ("volume", word) for word in ("L", "mL")},
}
_LOWER = {word.lower(): told for word, told in UNITS.items() if word not in ("mA", "mV", "MPa")}
_MILLI = {"ma": UNITS["mA"], "mv": UNITS["mV"], "mpa": UNITS["MPa"]}
DIFFERENCES = {"degC": "delta_degC", "degF": "delta_degF"}


def unit_named(word: str) -> tuple[Kind, str] | None:
    """What a word measures and pint's name of it, or None; upper and lower case are the same where nothing is lost."""
    return UNITS.get(word) or _LOWER.get(word.lower()) or _MILLI.get(word.lower())


def fitting_units(kind: str) -> str:
    """The usual words for units of this kind, for a hint."""
    usual = {
        "pressure": "bar, kPa or psi",
        "temperature": "C or F",
        "temperature difference": "K, 'C difference' or 'F difference'",
        "length": "mm, um, thou or inch",
        "time": "min or s",
        "flow": "L/min or gpm",
        "current": "A or mA",
        "voltage": "V or mV",
        "resistance": "ohm or kohm",
        "share": "%",
        "volume": "L or mL",
    }
    return usual[kind]


def converted(value: float, unit: str, wanted: str) -> float:
    """``value`` from one of pint's units to another of the same kind."""
    if unit == wanted:
        return value
    registry = _registry()
    return float(registry.Quantity(value, unit).to(wanted).magnitude)


@cache
def _registry() -> UnitRegistry[Any]:
    from pint import UnitRegistry

    return UnitRegistry(autoconvert_offset_to_baseunit=True)
