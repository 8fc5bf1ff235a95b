"""Figures and units as people write them: the same quantity in any unit, and refusals that say what would fit."""

from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diag.measure.misread import Refused
from diag.measure.quantities import in_unit, read_figures


def told(text: str, unit: str, ambient: float = 101.325) -> tuple[float, ...]:
    return in_unit(read_figures(text), unit, ambient)


@pytest.mark.parametrize(
    ("text", "unit", "values"),
    [
        ("8.1 8.0 4.2 4.4 bar", "bar", (8.1, 8.0, 4.2, 4.4)),
        ("8.1, 8.0, 4.2 bar", "bar", (8.1, 8.0, 4.2)),
        ("15 psi", "kPa", (103.421359,)),  # 1 psi = 6.894757 kPa, NIST SP 811
        ("30 inHg", "kPa", (101.5917,)),  # 1 inHg (0 C) = 3.38639 kPa, NIST SP 811
        ("3.2 thou", "mm", (0.08128,)),  # 1 thou = 0.0254 mm exactly
        ("0.003 inch", "mm", (0.0762,)),
        ("80 um", "mm", (0.08,)),
        ("2100 mA", "A", (2.1,)),
        ("1.2 kohm", "ohm", (1200.0,)),
        ("2 bar abs", "bar", (0.98675,)),  # less one standard atmosphere, 101.325 kPa, ISO 2533
        ("14.695949 psia", "bar", (0.0,)),
        ("20 K", "K", (20.0,)),
        ("36 F difference", "K", (20.0,)),  # 1 K = 1.8 F
        ("92 78 C", "K", (14.0,)),
        ("212 F 176 F", "K", (20.0,)),
        ("212 F", "C", (100.0,)),
        ("4 gpm", "L/min", (15.14165,)),  # 1 US gallon = 3.785412 L, NIST SP 811
    ],
)
def test_the_same_quantity_in_any_unit(text: str, unit: str, values: tuple[float, ...]) -> None:
    assert told(text, unit) == pytest.approx(values, rel=2e-5, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "unit", "message", "hint"),
    [
        ("0,08 mm", "mm", "comma", "0.08 mm"),
        ("8,1 8,0 bar", "bar", "comma", "8.1 8,0 bar"),
        ("8 bar", "mm", "pressure does not fit", "mm, um, thou"),
        ("14 C", "K", "a difference of two does", "14 K"),
        ("14", "K", "unit is missing", "K"),
        ("14 quux", "K", "'quux' is not known", "bar"),
        ("-1.2 bar", "bar", "perfect vacuum", "0 bar absolute"),
        ("-0.1 bar abs", "bar", "perfect vacuum", "0 bar absolute"),
        ("5 A abs", "A", "does not go with a current", "Leave it out"),
        ("bar", "bar", "no figure", "8.1 bar"),
    ],
)
def test_what_does_not_fit_is_refused_with_what_would(text: str, unit: str, message: str, hint: str) -> None:
    with pytest.raises(Refused) as refused:
        told(text, unit)
    assert message in refused.value.misread.message
    assert hint in refused.value.misread.hint


@given(st.floats(0.1, 50.0))
@settings(deadline=None)
def test_units_change_nothing(bar: float) -> None:
    for text in (f"{bar * 100!r} kPa", f"{bar / 0.06894757293168:.12f} psi", f"{bar + 1.01325:.12f} bar abs"):
        assert told(text, "bar") == pytest.approx((bar,), rel=1e-9)


def test_gauge_and_absolute_differ_by_the_air_of_the_place() -> None:
    assert told("100 kPa abs", "kPa", ambient=79.5) == pytest.approx((20.5,))
    assert told("100 kPa", "kPa", ambient=79.5) == (100.0,)


def test_a_needle_at_its_end_is_told() -> None:
    assert read_figures("over 1.5 bar").bound == "over"
    assert read_figures("<0.2 A").bound == "under"


def test_two_banks_stay_apart() -> None:
    assert read_figures("8.1 8.0 / 7.9 8.2 bar").groups == ((8.1, 8.0), (7.9, 8.2))


def test_units_are_loaded_only_where_two_differ() -> None:
    code = (
        "import sys; from diag.measure.quantities import *;"
        "in_unit(read_figures('8.1 bar'), 'bar'); assert 'pint' not in sys.modules;"
        "in_unit(read_figures('8.1 psi'), 'bar'); assert 'pint' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
