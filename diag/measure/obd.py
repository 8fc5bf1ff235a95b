"""Data bytes of a reader's live and freeze-frame values (service 01 and 02) into figures with units.

Formulas in the manner of SAE J1979 / ISO 15031-5, as public tables (pid_tables) and open sources (obd_sources) have
them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from diag.measure.misread import Refused

_TOLD = re.compile(r"\bpid\s*([0-9A-Fa-f]{2})\s*[:= ]\s*([0-9A-Fa-f]{2}(?:\s?[0-9A-Fa-f]{2})?)\b", re.IGNORECASE)


def _word(data: bytes) -> int:
    return 256 * data[0] + data[1]


# Parameter -> number of data bytes, unit, and the formula.
PARAMETERS: Mapping[int, tuple[int, str, Callable[[bytes], float]]] = {
    0x04: (1, "%", lambda data: data[0] * 100 / 255),
    0x05: (1, "C", lambda data: data[0] - 40),
    0x0B: (1, "kPa abs", lambda data: data[0]),
    0x0C: (2, "rpm", lambda data: _word(data) / 4),
    0x0D: (1, "km/h", lambda data: data[0]),
    0x0F: (1, "C", lambda data: data[0] - 40),
    0x10: (2, "g/s", lambda data: _word(data) / 100),
    0x11: (1, "%", lambda data: data[0] * 100 / 255),
    0x1F: (2, "s", _word),
    0x21: (2, "km", _word),
    0x31: (2, "km", _word),
    0x42: (2, "V", lambda data: _word(data) / 1000),
    0x46: (1, "C", lambda data: data[0] - 40),
    0x4D: (2, "min", _word),
    0x4E: (2, "min", _word),
    0x5C: (1, "C", lambda data: data[0] - 40),
}


def parameter_value(parameter: int, data: bytes) -> tuple[float, str]:
    """The figure and its unit. Raises Refused for an unknown parameter or a wrong number of bytes."""
    if parameter not in PARAMETERS:
        known = " ".join(f"{number:02X}" for number in PARAMETERS)
        raise Refused(f"the parameter {parameter:02X} is not known.", f"Known are {known}.")
    size, unit, formula = PARAMETERS[parameter]
    if len(data) != size:
        message = f"the parameter {parameter:02X} has {size} data bytes, here are {len(data)}."
        raise Refused(message, "Leave out the head.")
    return formula(data), unit


def with_parameters(text: str) -> str:
    """``text`` with every ``pid 05 7B`` written as its figure and unit, ``83 C``. Raises Refused."""

    def written(found: re.Match[str]) -> str:
        value, unit = parameter_value(int(found.group(1), 16), bytes.fromhex(found.group(2).replace(" ", "")))
        return f"{value:g} {unit}"

    return _TOLD.sub(written, text)
