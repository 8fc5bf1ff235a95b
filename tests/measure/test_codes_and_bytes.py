"""Fault codes, data bytes of a reader, temperatures at several places."""

from __future__ import annotations

from dataclasses import replace

import pytest
from oracle.knowledge import finding
from oracle.readings import measured_finding, normal, uniform

from diag.measure.fault_codes import cylinder_of, read_codes, state_told
from diag.measure.misread import Refused
from diag.measure.obd import PARAMETERS, parameter_value, with_parameters
from diag.measure.temperatures import differences_told


@pytest.mark.parametrize(
    ("parameter", "data", "value", "unit"),
    [
        (0x05, "7B", 83, "C"),  # SAE J1979 formulas as in pid_tables: A - 40
        (0x05, "00", -40, "C"),
        (0x05, "FF", 215, "C"),
        (0x0C, "0C80", 800, "rpm"),  # (256 A + B) / 4
        (0x04, "80", 100 * 128 / 255, "%"),
        (0x1F, "0258", 600, "s"),
        (0x46, "43", 27, "C"),
        (0x42, "3A56", 14.934, "V"),
        (0x0B, "65", 101, "kPa abs"),
        (0x10, "FFFF", 655.35, "g/s"),  # top of its range
        (0x0C, "FFFF", 16383.75, "rpm"),  # top of its range
    ],
)
def test_data_bytes(parameter: int, data: str, value: float, unit: str) -> None:
    told = parameter_value(parameter, bytes.fromhex(data))
    assert told[0] == pytest.approx(value)
    assert told[1] == unit


def test_wrong_bytes_are_refused() -> None:
    with pytest.raises(Refused, match="is not known"):
        parameter_value(0x99, b"\x00")
    with pytest.raises(Refused, match="1 data bytes, here are 2"):
        parameter_value(0x05, b"\x00\x01")
    assert all(size in (1, 2) for size, _, _ in PARAMETERS.values())


def test_bytes_inside_a_reading() -> None:
    assert with_parameters("pid 05 7B pid 46 43") == "83 C 27 C"
    assert with_parameters("pid0C:0C 80") == "800 rpm"
    assert with_parameters("83 C 27 C") == "83 C 27 C"


def test_codes_as_a_reader_shows_them() -> None:
    assert read_codes("p0128, P0301 P0128") == ("P0128", "P0301")
    assert read_codes("none") == ()
    for wrong in ("P12", "P4128", "hello"):
        with pytest.raises(Refused):
            read_codes(wrong)


CIRCUIT = replace(finding("circuit", {"yes": 0.02}), codes={"P0480": "yes", "P0481": "yes"})
MISFIRE = replace(
    finding("misfire", {"one_cylinder": 0.05, "neighbours": 0.03}, ("none", "one_cylinder", "neighbours")),
    codes={f"P030{n}": "one_cylinder" for n in range(1, 9)},
)


def test_codes_into_states() -> None:
    assert state_told(CIRCUIT, ("P0481",)) == "yes"
    assert state_told(CIRCUIT, ("P0128",)) == "no"  # all were read out, and none of its own is there
    assert state_told(MISFIRE, ()) == "none"
    assert state_told(MISFIRE, ("P0303",)) == "one_cylinder"
    assert state_told(MISFIRE, ("P0302", "P0303")) == "neighbours"
    assert state_told(MISFIRE, ("P0301", "P0303")) == "one_cylinder"  # not beside each other
    assert cylinder_of("P0312") == 12
    assert cylinder_of("P0313") is None


HOSE = measured_finding("hose", {"no": normal(15, 8), "yes": uniform(35, 90)}, form="difference", unit="K")
HOSES = [replace(HOSE, reading=replace(HOSE.reading, between=("housing", "bottom")))]


def test_temperatures_at_places_make_differences() -> None:
    assert differences_told(HOSES, "housing 92, bottom 41 C") == {"hose": "92 41 C"}
    assert differences_told(HOSES, "bottom 41 C, housing 92 C") == {"hose": "92 41 C"}
    for wrong, hint in (("roof 90 C", "housing and bottom"), ("housing 92 C", "housing and bottom")):
        with pytest.raises(Refused) as refused:
            differences_told(HOSES, wrong)
        assert hint in refused.value.misread.hint
    with pytest.raises(Refused, match="one unit"):
        differences_told(HOSES, "housing 92 C, bottom 100 F")
