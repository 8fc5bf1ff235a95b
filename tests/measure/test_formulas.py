"""Every formula against a published value or another library."""

from __future__ import annotations

import pytest
from iapws import IAPWS97

from diag.measure import coolant
from diag.measure.air import pressure_at_altitude
from diag.measure.cylinders import (
    beside_each_other,
    ideal_compression,
    low_cylinders,
    lowest_to_highest,
    rise_with_oil,
    too_high,
)
from diag.measure.pressure_test import (
    coolant_expansion,
    drop_in_ten_minutes,
    drop_of_volume,
    volume_of_drop,
    volume_shrunk,
)


@pytest.mark.parametrize("celsius", [1, 20, 60, 90, 100, 120, 150, 200])
def test_vapour_pressure_of_water(celsius: float) -> None:
    """Against the package iapws."""
    assert coolant.water_vapour_pressure(celsius) == pytest.approx(1000 * IAPWS97(T=celsius + 273.15, x=0).P, rel=1e-7)


@pytest.mark.parametrize("gauge", [0, 30, 50, 90, 103.4, 150])
def test_boiling_point_of_water_under_a_cap(gauge: float) -> None:
    """Against the package iapws."""
    expected = IAPWS97(P=(101.325 + gauge) / 1000, x=0).T - 273.15
    assert coolant.boiling_point(0, gauge) == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize(
    ("share", "gauge", "celsius"),
    [
        (50, 0, 107.8),  # 226 F, boiling_table_b; 107.8 by ASTM D3306 (from memory)
        (50, 103.4, 129.4),  # 265 F, boiling_table_a (the second table has 127.8)
        (33, 0, 104.4),  # 220 F, coolant makers' tables (from memory)
        (40, 0, 105.6),  # 222 F (from memory)
        (60, 0, 111.0),  # 232 F (from memory)
    ],
)
def test_boiling_point_of_mixtures(share: float, gauge: float, celsius: float) -> None:
    assert coolant.boiling_point(share, gauge) == pytest.approx(celsius, abs=1.5)


def test_pure_glycol_boils_where_the_handbook_says() -> None:
    """470.4 K, Thermopedia; a worse mixing rule would not move this end."""
    assert coolant.glycol_vapour_pressure(470.4 - 273.15) == pytest.approx(101.325, rel=0.02)


@pytest.mark.parametrize(("metres", "kilopascal"), [(0, 101.325), (1000, 89.875), (2000, 79.495), (3000, 70.109)])
def test_air_pressure(metres: float, kilopascal: float) -> None:
    """ISO 2533, table of the standard atmosphere."""
    assert pressure_at_altitude(metres) == pytest.approx(kilopascal, abs=0.03)


def test_boiling_margin_shrinks_with_height_and_without_pressure() -> None:
    """Ordering: less pressure over it, lower boiling point."""
    here = coolant.boiling_margin(105, 50, 100)
    assert (
        here > coolant.boiling_margin(105, 50, 100, altitude=2000) > coolant.boiling_margin(105, 50, 0, altitude=2000)
    )
    assert coolant.boiling_margin(105, 0, 0) < 0


@pytest.mark.parametrize(
    ("share", "celsius"),
    [(18.75, -6.7), (25, -12.2), (40.6, -23.3), (43.75, -28.9), (50, -34.4), (53.1, -40.0), (60, -54.0)],
)
def test_freezing_point(share: float, celsius: float) -> None:
    """TM 9-6115-464-12 and TM 5-6115-400-12, table 2-1; 60 per cent: subcourse OD1001 (-65 F)."""
    assert coolant.freezing_point(share) == pytest.approx(celsius, abs=1e-9)
    assert coolant.share_of_freezing_point(celsius) == pytest.approx(share, abs=1e-9)


@pytest.mark.parametrize(("share", "celsius"), [(10, -3), (20, -8), (30, -16), (40, -25), (50, -37), (60, -55)])
def test_freezing_point_beside_another_table(share: float, celsius: float) -> None:
    """Engineering reference table glycol_table; the two differ by up to 3 K, ours is the warmer at half-and-half."""
    assert coolant.freezing_point(share) == pytest.approx(celsius, abs=3)


def test_no_mix_freezes_colder_than_the_best() -> None:
    from diag.measure.misread import Refused

    with pytest.raises(Refused):
        coolant.share_of_freezing_point(-60)


@pytest.mark.parametrize(("gravity", "share"), [(1.022, 18.75), (1.036, 25), (1.047, 34.4), (1.067, 50), (1.073, 53)])
def test_float_at_its_own_temperature(gravity: float, share: float) -> None:
    """TM 9-6115-464-12, table 2-1."""
    assert coolant.share_of_gravity(gravity, 20) == pytest.approx(share, abs=0.01)


def test_float_read_hot() -> None:
    """Densities of Melinder's correlation: half-and-half at 60 C shows 1.045 on a float of 20 C, like a third."""
    assert coolant.share_of_gravity(1.045, 60) == pytest.approx(50, abs=3)
    assert coolant.share_of_gravity(1.045, 20) == pytest.approx(33, abs=1)


def test_cooling_lowers_the_pressure_by_itself() -> None:
    """Arithmetic p dV / V: 7 L at 50 C, 5 K cooler, shrink 22 mL, and 0.8 L of air at 100 kPa then fall 5.5 kPa."""
    shrunk = volume_shrunk(7, 52.5, 47.5)
    assert shrunk == pytest.approx(22, abs=0.2)
    assert drop_of_volume(shrunk, 100, 0.8) == pytest.approx(5.5, abs=0.05)


@pytest.mark.parametrize(("litres", "kilopascal", "millilitres"), [(0.5, 4.0, 25), (0.8, 2.5, 40), (1.5, 1.3, 75)])
def test_smaller_air_space_shows_more(litres: float, kilopascal: float, millilitres: float) -> None:
    """Arithmetic p dV / V at 100 kPa on the gauge: 10 mL lost, and what a drop of 10 kPa stands for."""
    assert drop_of_volume(10, 100, litres) == pytest.approx(kilopascal, abs=0.05)
    assert volume_of_drop(10, 100, litres) == pytest.approx(millilitres, abs=0.7)


@pytest.mark.parametrize(("celsius", "per_kelvin"), [(25, 5.3e-4), (50, 6.3e-4), (80, 7.1e-4), (95, 7.4e-4)])
def test_expansion_of_half_and_half(celsius: float, per_kelvin: float) -> None:
    """By differences of densities at 20, 40, 60, 80, 90, 100 C: 1068, 1057, 1043, 1029, 1022, 1014 kg/m3."""
    assert coolant_expansion(celsius) == pytest.approx(per_kelvin, rel=0.01)
    assert coolant_expansion(50) == pytest.approx((1057 - 1043) / 1050 / 20, rel=0.08)


def test_drop_in_another_time() -> None:
    """A leak in proportion to the pressure: half of it gone in 5 minutes is three quarters in ten."""
    assert drop_in_ten_minutes(50, 5, 100) == pytest.approx(75)
    assert drop_in_ten_minutes(15, 10, 100) == pytest.approx(15)
    assert drop_in_ten_minutes(100, 1, 100) == pytest.approx(100)


@pytest.mark.parametrize(("ratio", "low", "high"), [(8.5, 11, 14), (9.5, 12.5, 16), (10.5, 14, 18), (11.5, 16, 20.5)])
def test_ideal_compression(ratio: float, low: float, high: float) -> None:
    """p0 CR^n - p0 for n from 1.15 to 1.25, worked out by hand in bar."""
    assert low <= ideal_compression(ratio, 1.2) / 100 <= high
    assert ideal_compression(8.5, 1.15) / 100 == pytest.approx(1.01325 * 8.5**1.15 - 1.01325)


def test_low_cylinders_by_the_published_three_quarters() -> None:
    """TM 5-4210-230-14&P-1: the lowest at least 75 per cent of the highest; low on two neighbours is the gasket."""
    values = (8.1, 8.0, 4.2, 4.4)
    assert lowest_to_highest(values) == pytest.approx(4.2 / 8.1)
    assert low_cylinders(values, 0.75) == (3, 4)
    assert low_cylinders((8.0, 6.1, 8.0), 0.75) == ()
    assert low_cylinders((8.0, 5.9, 8.0), 0.75) == (2,)
    assert beside_each_other((3, 4), [4])
    assert not beside_each_other((2, 3), [2, 2])  # the last of one bank and the first of the other
    assert not beside_each_other((1, 3), [4])


def test_liquid_in_a_bore_stands_out() -> None:
    assert too_high((8.0, 8.1, 11.5, 7.9)) == 3
    assert too_high((8.0, 8.1, 8.6, 7.9)) is None
    assert too_high((8.0, 4.0)) is None


def test_oil_seals_rings() -> None:
    assert rise_with_oil(4.0, 6.0) == pytest.approx(50)
