"""Exact factors: NIST SP 811 Appendix B and NIST Handbook 44 Appendix C."""

from fractions import Fraction

import pytest

from shop import units


@pytest.mark.parametrize(
    ("fahrenheit", "c100"),
    [(32, 0), (50, 1000), (68, 2000), (77, 2500), (140, 6000), (212, 10000), (-40, -4000)],
)
def test_temperatures(fahrenheit, c100):
    assert units.fahrenheit(c100) == fahrenheit
    assert units.c100_from_fahrenheit(Fraction(fahrenheit)) == c100
    assert units.parse_c100(f"{fahrenheit} °F") == c100


def test_a_difference_is_not_a_temperature():
    # 3 °C of difference are 5.4 °F; 5 °F are 2.777… °C
    assert units.difference_fahrenheit(300) == Fraction("5.4")
    assert Fraction(5) * Fraction(5, 9) == Fraction(25, 9)
    assert units.format_difference_c100(300, units.US) == "5.4 °F"


def test_a_mil_is_a_thousandth_of_an_inch_and_no_angle():
    # 1 mil = 25.4 µm exactly: 8 mil = 203.2 µm, 6 mil = 152.4 µm, 200 µm = 7.874015748… mil
    assert units.parse_um10("8 mil") == 2032
    assert units.parse_um10("6 thou") == 1524
    assert units.mil(2032) == 8
    assert float(units.mil(2000)) == pytest.approx(7.874015748031496, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "mm"),
    [("1 in", 25), ("10 in", 254), ("1 ft", 305), ("1000 ft", 304_800), ("1 yd", 914), ("100 yd", 91_440)],
)
def test_lengths(text, mm):
    assert units.parse_mm(text) == mm


def test_inches_are_exact():
    assert units.inches(254) == 10


def test_a_square_foot():
    # 1 ft² = 0.09290304 m²
    assert units.square_feet(929_030_400) == 10_000
    assert units.format_mm2(9_290_304, units.US) == "100 ft²"


def test_gallons_differ():
    # 1 US gal = 3.785411784 l = 128 US fl oz; 1 imperial gal = 4.54609 l = 160 imperial fl oz
    assert units.us_gallons(1) == Fraction(1) / Fraction("37854.11784")
    assert units.us_fluid_ounces(1) == 128 * units.us_gallons(1)
    assert units.imperial_gallons(454_609) == 10
    assert units.parse_ml10("128 US fl oz") == units.parse_ml10("1 US gal") == 37_854
    assert units.parse_ml10("160 imp fl oz") == units.parse_ml10("1 imp gal") == 45_461
    assert units.parse_ml10("10 US fl oz") == 2957
    assert units.parse_ml10("10 imp fl oz") == 2841


def test_pressure():
    # 1 psi = 6.894757 kPa
    assert float(1 / units.psi(1)) == pytest.approx(6.894757293168361, abs=1e-12)
    assert units.parse_kpa("1000 psi") == 6895
