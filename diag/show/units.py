"""Figures in metric units with imperial ones beside them, for those who set ``units=imperial``. Nothing is replaced."""

from __future__ import annotations

import re

from diag.measure.units import converted

# As the texts write it: the unit in pint's words, the imperial one in pint's words, and how that is written.
_IMPERIAL = {
    "C": ("degC", "degF", "F"),
    "K": ("delta_degC", "delta_degF", "F difference"),
    "bar": ("bar", "psi", "psi"),
    "mbar": ("mbar", "psi", "psi"),
    "kPa": ("kPa", "psi", "psi"),
    "mm": ("mm", "inch", "in"),
    "cm": ("cm", "inch", "in"),
    "m": ("m", "foot", "ft"),
    "km": ("km", "mile", "miles"),
    "km/h": ("km/h", "mile/hour", "mph"),
    "L": ("L", "gallon", "US gal"),
    "L/min": ("L/min", "gallon/min", "US gal/min"),
    "Nm": ("N*m", "force_pound*foot", "lbf ft"),
}
_NUMBER = r"[-+]?\d+(?:\.\d+)?"
_UNIT = "|".join(sorted(_IMPERIAL, key=len, reverse=True))
_FIGURE = re.compile(rf"(?<![\w.])({_NUMBER})(?: (to|and|or) ({_NUMBER}))? ?({_UNIT})(?![\w/])")


def with_imperial(text: str) -> str:
    """``text`` with the imperial figure in brackets behind every metric one: 50 C (122 F)."""
    return _FIGURE.sub(_beside, text)


def _beside(found: re.Match[str]) -> str:
    first, between, second, unit = found.groups()
    told = _converted(first, unit)
    if second:
        told = f"{told} {between} {_converted(second, unit)}"
    return f"{found[0]} ({told} {_IMPERIAL[unit][2]})"


def _converted(number: str, unit: str) -> str:
    """One digit more than the figure has, so that nothing is lost and little is made up."""
    metric, imperial, _ = _IMPERIAL[unit]
    digits = len(number.lstrip("+-").replace(".", "").lstrip("0")) + 1
    value = converted(float(number), metric, imperial)
    rounded = float(f"{value:.{max(digits, 2) - 1}e}")
    return f"{rounded:.12g}"
