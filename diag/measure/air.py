"""The pressure of the air around the vehicle."""

from __future__ import annotations

HIGHEST = 11_000.0  # m, where the formula ends


def pressure_at_altitude(metres: float) -> float:
    """Pressure of the standard atmosphere, kPa. Valid from sea level to 11 000 m.

    Source: ISO 2533, standard atmosphere: 101.325 kPa x (1 - 2.25577e-5 h)^5.25588.
    """
    height = min(max(metres, -500.0), HIGHEST)
    return float(101.325 * (1.0 - 2.25577e-5 * height) ** 5.25588)
