import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.reasons import Weight
from shop.work.dewpoint import AirLimits, air_reasons, dew_point_c, margin_c

LIMITS = AirLimits(
    warn_below_c100=1500,
    warn_above_c100=2800,
    stop_below_c100=1000,
    stop_above_c100=3500,
    dry_below_rh10=300,
    damp_above_rh10=750,
    dew_margin_c100=300,
)


def said(air, rh, panel, *, wet=True):
    return {reason.code: reason.weight for reason in air_reasons(air, rh, panel, LIMITS, wet=wet)}


NOTE, STOP = Weight.NOTE, Weight.STOP


@pytest.mark.parametrize(
    ("air", "rh", "panel", "expected"),
    [
        (2100, 450, 2100, {}),
        # 15–18 and 25–28 °C are neither good nor bad: nothing is said
        (1500, 450, 1500, {}),
        (2800, 450, 2800, {}),
        (1499, 450, 2000, {"air_cold": NOTE}),
        (2801, 450, 2500, {"air_hot": NOTE}),
        (900, 450, 1600, {"air_cold": NOTE}),
        (3600, 300, 3000, {"air_hot": NOTE}),
        (2000, 450, 1499, {"panel_cool": NOTE}),
        (2000, 450, 1000, {"panel_cool": NOTE, "dew_note": NOTE}),
        (2000, 300, 999, {"panel_cold": STOP}),
        (2000, 450, 2801, {"panel_warm": NOTE}),
        (2000, 450, 3500, {"panel_warm": NOTE}),
        (2000, 450, 3501, {"panel_hot": STOP}),
        # a cold bay with a cool panel is said once
        (1200, 450, 1200, {"air_cold": NOTE}),
        (900, 450, 900, {"air_cold": NOTE, "panel_cold": STOP}),
        (3000, 450, 3000, {"air_hot": NOTE}),
        (2000, 300, 2000, {}),
        (2000, 299, 2000, {"air_dry": NOTE}),
        (2000, 750, 2000, {}),
        (2000, 751, 2000, {"air_damp": NOTE}),
        (2000, 850, 2000, {"air_damp": NOTE, "dew_note": NOTE}),
        # a reading not taken yet says nothing
        (None, None, None, {}),
        (None, 800, 900, {"air_damp": NOTE, "panel_cold": STOP}),
        (2000, None, 2000, {}),
        (2000, 900, None, {"air_damp": NOTE}),
    ],
)
def test_readings_while_laying_wet(air, rh, panel, expected):
    assert said(air, rh, panel) == expected


def test_a_small_dew_margin_stops_dry_work_and_is_told_for_wet():
    assert said(2500, 600, 1969, wet=False) == {"dew_margin": STOP}
    assert said(2500, 600, 1969, wet=True) == {"dew_note": NOTE}
    assert said(2500, 600, 1970, wet=False) == {}


def test_sentences_speak_the_shops_units():
    (reason,) = air_reasons(2000, 450, 3600, LIMITS, wet=True, units="us")
    assert reason.text == "The panel is at 96.8 °F, above 95 °F. Let it cool, then read again."
    (reason,) = air_reasons(2000, 700, 1500, LIMITS, wet=False)
    assert reason.text.startswith("The panel is 0.6 °C above the dew point of 14.4 °C; 3 °C keeps it dry.")
    assert "at or below the dew point" in air_reasons(2000, 700, 1400, LIMITS, wet=False)[-1].text


@pytest.mark.parametrize("rh", [0, -1, 100.01, 1e9, math.nan, math.inf, -math.inf])
def test_humidity_outside_its_range_is_refused(rh):
    with pytest.raises(ValueError, match="humidity"):
        dew_point_c(20, rh)


@pytest.mark.parametrize("air", [-91, 71, -243.04, -300, 1e9, math.nan, math.inf, -math.inf])
def test_impossible_air_is_refused(air):
    with pytest.raises(ValueError, match="Air temperature"):
        dew_point_c(air, 50)


AIR = st.floats(-40, 50)
HUMIDITY = st.floats(0, 100, exclude_min=True)


@given(AIR, HUMIDITY)
def test_the_dew_point_is_never_above_the_air(air, rh):
    assert dew_point_c(air, rh) <= air


@given(AIR)
def test_full_air_is_at_its_dew_point(air):
    assert dew_point_c(air, 100) == pytest.approx(air, abs=1e-9)


@given(AIR, st.floats(1, 99), st.floats(0.1, 1))
def test_damper_air_has_a_higher_dew_point(air, rh, more):
    assert dew_point_c(air, rh) < dew_point_c(air, rh + more)
    assert margin_c(air, air, rh) > margin_c(air, air, rh + more)


@given(st.integers(-2000, 5000), st.integers(1, 1000), st.integers(-2000, 5000))
def test_wet_laying_is_never_stopped_by_dew(air, rh, panel):
    codes = said(air, rh, panel, wet=True)
    assert "dew_margin" not in codes
    assert ("dew_note" in codes) == ("dew_margin" in said(air, rh, panel, wet=False))
