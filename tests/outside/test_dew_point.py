"""Dew point after Alduchov & Eskridge 1996 (J. Appl. Meteor. 35, 601–609), and beside other published formulas."""

import psychrolib
import pytest

from shop.reasons import is_open
from shop.work.dewpoint import AirLimits, air_reasons, dew_point_c, margin_c

# air °C, RH %, then dew point by: Alduchov & Eskridge 1996; Sonntag 1990 (WMO-No. 8); Bolton 1980
TABLE = [
    (20, 50, 9.261, 9.255, 9.270),
    (25, 60, 16.698, 16.693, 16.705),
    (10, 80, 6.708, 6.706, 6.710),
    (30, 70, 23.930, 23.927, 23.937),
    (15, 85, 12.498, 12.497, 12.500),
    (20, 65, 13.221, 13.217, 13.227),
    (23, 50, 12.020, 12.014, 12.029),
    (5, 90, 3.496, 3.495, 3.497),
    (18, 40, 4.195, 4.187, 4.206),
    (35, 50, 23.029, 23.023, 23.041),
    (20, 100, 20.000, 20.000, 20.000),
]
# Surface against the dew point with a margin of 3 °C; derived from the same coefficients.
TRUTH = [
    (2500, 600, 1969, False),
    (2500, 600, 1970, True),
    (2000, 500, 1220, False),
    (2000, 500, 1230, True),
    (3000, 700, 2690, False),
    (3000, 700, 2700, True),
]
WIDE = AirLimits(
    warn_below_c100=-9000,
    warn_above_c100=9000,
    stop_below_c100=-9000,
    stop_above_c100=9000,
    dry_below_rh10=0,
    damp_above_rh10=1000,
    dew_margin_c100=300,
)


# PsychroLib (ASHRAE Handbook 2017) turns to the frost point below 0 °C, so only dew is compared.
psychrolib.SetUnitSystem(psychrolib.SI)
BESIDE = [
    (air, rh, other)
    for air in (1, 5, 10, 15, 18, 20, 25, 28, 30, 35, 40)
    for rh in (10, 20, 30, 45, 60, 75, 90, 100)
    if (other := psychrolib.GetTDewPointFromRelHum(air, rh / 100)) > 0
]


@pytest.mark.parametrize(("air", "rh", "own", "sonntag", "bolton"), TABLE)
def test_dew_point(air, rh, own, sonntag, bolton):
    assert dew_point_c(air, rh) == pytest.approx(own, abs=0.0006)
    assert dew_point_c(air, rh) == pytest.approx(sonntag, abs=0.1)
    assert dew_point_c(air, rh) == pytest.approx(bolton, abs=0.1)


@pytest.mark.parametrize(("air", "rh", "other"), BESIDE)
def test_dew_point_beside_an_independent_library(air, rh, other):
    assert dew_point_c(air, rh) == pytest.approx(other, abs=0.1)


def test_enough_was_compared():
    assert len(BESIDE) > 50


@pytest.mark.parametrize(("air", "rh", "panel", "dry_enough"), TRUTH)
def test_three_degrees_above_the_dew_point(air, rh, panel, dry_enough):
    assert is_open(air_reasons(air, rh, panel, WIDE, wet=False)) is dry_enough
    assert (margin_c(panel / 100, air / 100, rh / 10) >= 3) is dry_enough
