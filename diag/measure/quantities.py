"""Texts such as ``8.1 8.0 4.2 4.4 bar`` into figures with a unit. Nothing is guessed: what does not fit is told."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from diag.measure.misread import Refused
from diag.measure.units import DIFFERENCES, Kind, converted, fitting_units, unit_named

STANDARD_ATMOSPHERE = 101.325  # kPa, ISO 2533
PERFECT_VACUUM = 1e-9

_NUMBER = r"[-+−]?(?:\d+(?:\.\d*)?|\.\d+)"
_DECIMAL_COMMA = re.compile(r"\d,\d")
_TEXT = re.compile(
    rf"(?P<bound>over|above|more than|at least|>=?|under|below|less than|<=?)?\s*"
    rf"(?P<numbers>{_NUMBER}(?:[\s,/;]+{_NUMBER})*)\s*(?P<unit>\D*)"
)
_OVER = ("over", "above", "more than", "at least", ">", ">=")
_ABSOLUTE = re.compile(r"\s*\(?\b(?:abs|absolute|a)\)?$")
_GAUGE = re.compile(r"\s*\(?\b(?:gauge|g)\)?$")
_DIFFERENCE = re.compile(r"\s*\b(?:difference|apart)$")
_GLUED = {"bara": ("bar", "absolute"), "barg": ("bar", "gauge"), "psia": ("psi", "absolute"), "psig": ("psi", "gauge")}

Reference = Literal["", "gauge", "absolute", "difference"]
Bound = Literal["", "over", "under"]


@dataclass(frozen=True, slots=True)
class Figures:
    """Numbers as they were told, in groups (banks of cylinders), with their unit.

    kind and unit: what the unit measures and pint's name of it, both empty where none was told. reference: gauge or
    absolute pressure, or a difference of temperatures, where it was said. bound: the needle stood at or beyond an end.
    """

    groups: tuple[tuple[float, ...], ...]
    kind: Kind | Literal[""]
    unit: str
    reference: Reference
    bound: Bound

    @property
    def values(self) -> tuple[float, ...]:
        """All numbers in order."""
        return tuple(value for group in self.groups for value in group)


def read_figures(text: str) -> Figures:
    """Numbers with one unit behind them. Raises Refused; a comma between digits may be a decimal comma."""
    comma = _DECIMAL_COMMA.search(text)
    if comma:
        point = text[: comma.start() + 1] + "." + text[comma.end() - 1 :]
        hint = f"Write a decimal point: {point}. Between several numbers write a blank."
        raise Refused("a comma between digits can mean two things.", hint, comma.start() + 1)
    found = _TEXT.fullmatch(_one_unit(text.strip()))
    if found is None:
        raise Refused(
            f"'{text.strip()}' is no figure with a unit.", "Write numbers and then the unit, such as 8.1 bar."
        )
    unit = _read_unit(found["unit"].strip())
    groups = tuple(_numbers(part) for part in found["numbers"].split("/"))
    bound: Bound = "" if not found["bound"] else "over" if found["bound"] in _OVER else "under"
    return Figures(groups, *unit, bound)


def in_unit(figures: Figures, wanted: str, ambient: float = STANDARD_ATMOSPHERE) -> tuple[float, ...]:
    """The figures in the unit ``wanted`` (a word of ``units``), pressures as gauge pressure.

    ambient: pressure of the air, kPa, to take from absolute pressures. Raises Refused where they do not fit.
    """
    told = unit_named(wanted)
    assert told is not None, wanted
    kind, name = told
    hint = f"Give it in {fitting_units(kind)}."
    if not figures.kind:
        raise Refused("the unit is missing.", hint)
    if kind == "temperature difference" and figures.kind == "temperature":
        return _difference(figures, name)
    if figures.kind != kind:
        raise Refused(f"a {figures.kind} does not fit here, a {kind} does.", hint)
    values = tuple(converted(value, figures.unit, name) for value in figures.values)
    if kind == "pressure":
        return _as_gauge(values, name, figures.reference, ambient)
    return values


def _as_gauge(values: tuple[float, ...], unit: str, reference: str, ambient: float) -> tuple[float, ...]:
    if reference != "absolute" and min(values) >= 0:
        return values
    air = converted(ambient, "kPa", unit)
    gauge = tuple(value - air if reference == "absolute" else value for value in values)
    if any(value < -air - PERFECT_VACUUM for value in gauge):
        hint = "Nothing is emptier than empty: -1 bar on a gauge, 0 bar absolute."
        raise Refused("there is no pressure below a perfect vacuum.", hint)
    return gauge


def _difference(figures: Figures, name: str) -> tuple[float, ...]:
    if figures.reference == "difference":
        return tuple(converted(value, DIFFERENCES[figures.unit], name) for value in figures.values)
    if len(figures.values) == 2:
        one, two = (converted(value, figures.unit, "degC") for value in figures.values)
        return (one - two,)
    unit = figures.unit.removeprefix("deg")
    hint = f"Write both temperatures, such as 92 78 {unit}, or 14 K, or 14 {unit} difference."
    raise Refused("a temperature does not fit here, a difference of two does.", hint)


def _one_unit(text: str) -> str:
    """``92 C 78 C`` as ``92 78 C``; ``8.1 bar, 8.0 bar`` alike."""
    parts = re.fullmatch(rf"((?:{_NUMBER}\s*(\D+?)[\s,]+)+)({_NUMBER}\s*(\D+))", text)
    if parts is None:
        return text
    units = {unit.strip(" ,") for unit in re.split(_NUMBER, text) if unit.strip(" ,")}
    if len(units) != 1:
        return text
    (unit,) = units
    return " ".join(re.findall(_NUMBER, text)) + f" {unit}" if "/" not in unit else text


def _numbers(text: str) -> tuple[float, ...]:
    return tuple(float(word.replace("−", "-")) for word in re.findall(_NUMBER, text))


def _read_unit(text: str) -> tuple[Kind | Literal[""], str, Reference]:
    if not text:
        return "", "", ""
    word, reference = _apart(text)
    told = unit_named(word)
    if told is None:
        raise Refused(
            f"the unit '{word}' is not known.", "Known are bar, kPa, psi, C, F, K, mm, thou, A, V, ohm, %, L/min."
        )
    fits = {"pressure": ("gauge", "absolute"), "temperature": ("difference",)}
    if reference and reference not in fits.get(told[0], ()):
        raise Refused(f"'{reference}' does not go with a {told[0]}.", "Leave it out.")
    return *told, reference


def _apart(text: str) -> tuple[str, Reference]:
    """A unit and what was said of its zero."""
    if text.lower() in _GLUED:
        word, reference = _GLUED[text.lower()]
        return word, "absolute" if reference == "absolute" else "gauge"
    if _ABSOLUTE.search(text) and not unit_named(text):
        return _ABSOLUTE.sub("", text).strip(), "absolute"
    if _GAUGE.search(text) and not unit_named(text):
        return _GAUGE.sub("", text).strip(), "gauge"
    if _DIFFERENCE.search(text):
        return _DIFFERENCE.sub("", text).strip(), "difference"
    return text, ""
