"""Mix, freezing point and boiling point of ethylene glycol in water."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from math import sqrt

from diag.measure.air import pressure_at_altitude
from diag.measure.misread import Refused

# Freezing point by per cent of volume. The service table (TM 9-6115-464-12 table 2-1, TM 5-6115-400-12, OD1001), which
# is warmer by 1 to 5 K than properties of pure mixtures: the lowest AIR temperature to trust it at.
_FREEZING = (
    (0.0, 0.0),
    (18.75, -6.7),
    (25.0, -12.2),
    (34.4, -17.8),
    (40.6, -23.3),
    (43.75, -28.9),
    (50.0, -34.4),
    (53.1, -40.0),
    (60.0, -54.0),
)
# Specific gravity by per cent of volume, at the temperature of the float's scale; the same table.
_GRAVITY = ((0.0, 1.0), (18.75, 1.022), (25.0, 1.036), (34.4, 1.047), (40.6, 1.055), (50.0, 1.067), (53.0, 1.073))
FLOAT_TEMPERATURE = 20.0  # C
LIGHTEST, HEAVIEST = 0.97, 1.1
GRAVITY_SCATTER = (
    5.0  # per cent of volume where the sample's temperature was not told (judgement: it may be 30 C warmer)
)

# IAPWS-IF97 region 4, saturation pressure of water, equation 30; 273.15 K to 647.096 K.
_N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)
_GLYCOL_DENSITY, _WATER_DENSITY = 1113.2, 998.2  # kg/m3 at 20 C
_GLYCOL_MOLE, _WATER_MOLE = 62.068, 18.015  # g/mol


def freezing_point(share: float) -> float:
    """Freezing point of ``share`` per cent of volume, C, from 0 to 60; above 60 that of 60, for it rises again."""
    return _between(share, _FREEZING)


def share_of_freezing_point(celsius: float) -> float:
    """Per cent of volume that freezes at ``celsius``, on the lean side, 0 to 60. Raises Refused below -54 C."""
    if not _FREEZING[-1][1] <= celsius <= 1.0:
        raise Refused(
            f"no mix freezes at {celsius:g} C.", "Read the refractometer's scale for ethylene glycol, 0 to -54 C."
        )
    return _between(-celsius, [(-freezing, share) for share, freezing in _FREEZING])


def share_of_gravity(gravity: float, celsius: float) -> float:
    """Per cent of volume from a float's figure and the sample's temperature, 0 to 60 C; from 0 to 53 per cent.

    The float sinks deeper in a warm sample: from 20 to 60 C by 0.016 at 10 per cent and 0.025 at 50 (densities of
    Melinder's correlation, as in CoolProp INCOMP::MEG). Read hot and not corrected, 50 per cent looks like a third.
    """
    if not 0.0 <= celsius <= 60.0:
        raise Refused(f"a float cannot be read at {celsius:g} C.", "Let the sample cool to between 0 and 60 C.")
    share = 0.0
    for _ in range(30):  # the correction hangs a little on the share itself
        share = _between(gravity + gravity_lost_per_kelvin(share) * (celsius - FLOAT_TEMPERATURE), _turned(_GRAVITY))
    return share


def gravity_lost_per_kelvin(share: float) -> float:
    """Specific gravity lost for each kelvin of a sample of ``share`` per cent above 20 C; linear, 10 to 50 per cent."""
    return (0.016 + (0.025 - 0.016) * (share - 10.0) / 40.0) / 40.0


def water_vapour_pressure(celsius: float) -> float:
    """Saturation pressure of water, kPa absolute, 0 to 370 C. Source: IAPWS-IF97, equation 30."""
    kelvin = celsius + 273.15
    theta = kelvin + _N[8] / (kelvin - _N[9])
    a = theta**2 + _N[0] * theta + _N[1]
    b = _N[2] * theta**2 + _N[3] * theta + _N[4]
    c = _N[5] * theta**2 + _N[6] * theta + _N[7]
    return float(1000.0 * (2.0 * c / (-b + sqrt(b * b - 4.0 * a * c))) ** 4)


def glycol_vapour_pressure(celsius: float) -> float:
    """Vapour pressure of ethylene glycol, kPa, by an Antoine equation (from memory; boils at 197.6 C, known 197.3)."""
    return float(100.0 * 10.0 ** (4.97012 - 1914.951 / (celsius + 273.15 - 84.996)))


def mole_fraction(share: float) -> float:
    """Mole fraction of glycol from per cent of volume at 20 C."""
    glycol = share * _GLYCOL_DENSITY / _GLYCOL_MOLE
    water = (100.0 - share) * _WATER_DENSITY / _WATER_MOLE
    return glycol / (glycol + water)


def boiling_point(share: float, gauge: float = 0.0, altitude: float = 0.0) -> float:
    """Boiling point, C, of ``share`` per cent of glycol at ``gauge`` kPa under a cap; 0 to 70 per cent, 0 to 200 kPa.

    Raoult's law for water and glycol over the air pressure of ``altitude`` m; tables lie within 1.5 K up to 60 %.
    """
    wanted, glycol = gauge + pressure_at_altitude(altitude), mole_fraction(share)
    low, high = 0.0, 300.0
    for _ in range(60):
        middle = (low + high) / 2
        pressure = (1 - glycol) * water_vapour_pressure(middle) + glycol * glycol_vapour_pressure(middle)
        low, high = (middle, high) if pressure < wanted else (low, middle)
    return (low + high) / 2


def boiling_margin(hottest: float, share: float, gauge: float = 0.0, altitude: float = 0.0) -> float:
    """By how many kelvin the coolant stays below boiling where it is at its hottest, C."""
    return boiling_point(share, gauge, altitude) - hottest


def _between(x: float, table: Sequence[tuple[float, float]]) -> float:
    """Straight lines between the points of ``table``, which rise in x; held at the ends."""
    place = bisect_left([at for at, _ in table], x)
    if place == 0:
        return table[0][1]
    if place == len(table):
        return table[-1][1]
    (x1, y1), (x2, y2) = table[place - 1], table[place]
    return y1 + (y2 - y1) * (x - x1) / (x2 - x1)


def _turned(table: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    return [(y, x) for x, y in table]
