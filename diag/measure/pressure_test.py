"""The pressure test of the system: what is left of a drop when cooling, air space and time are taken out of it."""

from __future__ import annotations

from itertools import pairwise

from diag.measure.air import pressure_at_altitude

MINUTES = 10.0  # a drop is told as that in ten minutes
TEST_PRESSURE = 100.0  # kPa on the gauge where nothing was said; caps are marked 48 to 140 (TM 9-6115-604, -670)
COOLANT = 7.0  # L, a usual car (judgement)
AIR_SPACE = 0.8  # L of air above the coolant (judgement)

# Expansion of half-and-half coolant, 1/K, at these temperatures, C. Source: density of ethylene glycol in water
# (Melinder's correlation as in CoolProp INCOMP::MEG), by differences.
_EXPANSION = ((25.0, 5.3e-4), (50.0, 6.3e-4), (80.0, 7.1e-4), (95.0, 7.4e-4))


def coolant_expansion(celsius: float) -> float:
    """Thermal expansion of 50 per cent glycol in water, 1/K; between 25 and 95 C, held at the ends."""
    (low, first), *_ = _EXPANSION
    if celsius <= low:
        return first
    for (t1, b1), (t2, b2) in pairwise(_EXPANSION):
        if celsius <= t2:
            return b1 + (b2 - b1) * (celsius - t1) / (t2 - t1)
    return _EXPANSION[-1][1]


def volume_shrunk(litres: float, first: float, last: float) -> float:
    """By how many mL ``litres`` of coolant shrink from ``first`` to ``last`` C; negative where it was warmed."""
    return 1000.0 * litres * coolant_expansion((first + last) / 2) * (first - last)


def drop_of_volume(millilitres: float, gauge: float, air_space: float, altitude: float = 0.0) -> float:
    """Drop of pressure, kPa, when the air above the coolant grows by ``millilitres``.

    gauge: kPa at the start; air_space: L. Isothermal: p_abs dV / V, for a small part of the air space.
    """
    return (gauge + pressure_at_altitude(altitude)) * millilitres / (1000.0 * air_space)


def volume_of_drop(kilopascal: float, gauge: float, air_space: float, altitude: float = 0.0) -> float:
    """mL lost for a drop of pressure, the reverse of ``drop_of_volume``."""
    return kilopascal * 1000.0 * air_space / (gauge + pressure_at_altitude(altitude))


def drop_in_ten_minutes(drop: float, minutes: float, gauge: float) -> float:
    """The drop in ten minutes from a drop in ``minutes``, kPa, by a leak that lets out in proportion to the pressure.

    So a system that fell to nought in one minute has not "fallen" by more than it had. Valid for drops below ``gauge``.
    """
    left = min(max(1.0 - drop / gauge, 0.0), 2.0)
    return float(gauge * (1.0 - left ** (MINUTES / minutes)))
