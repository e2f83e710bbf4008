"""Dew point, and what air and panel readings mean for the work.

Formula and coefficients over water: Alduchov & Eskridge 1996, J. Appl. Meteor. 35, 601–609.
The margin above the dew point comes from painting practice (MIL-HDBK-1110 § 9.6.6); for film it is a
conservative dryness check. Every limit comes from plan or film sheet.
"""

import math
from dataclasses import dataclass

from shop.reasons import Reason, Weight
from shop.units import METRIC, format_c100, format_difference_c100, format_rh10

_A = 17.625
_B = 243.04


@dataclass(frozen=True, kw_only=True)
class AirLimits:
    """Limits of a plan or film sheet: 0.01 °C, 0.1 % RH. Between the warning limits nothing is said."""

    warn_below_c100: int
    warn_above_c100: int
    stop_below_c100: int
    stop_above_c100: int
    dry_below_rh10: int
    damp_above_rh10: int
    dew_margin_c100: int


def dew_point_c(air_c: float, rh_percent: float) -> float:
    """Dew point in °C. ValueError outside 0 < RH ≤ 100 and for air no weather has ever had.

    >>> round(dew_point_c(20, 50), 2)
    9.26
    """
    if not (math.isfinite(rh_percent) and 0 < rh_percent <= 100):
        raise ValueError("Relative humidity lies above 0 and up to 100 %.")
    if not (math.isfinite(air_c) and -90 <= air_c <= 70):
        raise ValueError("Air temperature lies between -90 and 70 °C.")
    pressure = math.log(rh_percent) - math.log(100) + _A * air_c / (_B + air_c)
    # At 100 % the last bit may land above the air's own temperature.
    return min(_B * pressure / (_A - pressure), float(air_c))


def margin_c(panel_c: float, air_c: float, rh_percent: float) -> float:
    """How far the panel is above the dew point of the air, in °C; negative means it is wet."""
    return panel_c - dew_point_c(air_c, rh_percent)


def air_reasons(
    air_c100: int | None,
    rh_rh10: int | None,
    panel_c100: int | None,
    limits: AirLimits,
    *,
    wet: bool,
    units: str = METRIC,
) -> list[Reason]:
    """What the readings say against going on; a reading not taken yet (None) says nothing.

    `wet` is laying, where the panel is flooded anyway, so a small dew margin is only told; for primer and dry
    work it stops. ValueError for a humidity outside 0 < RH ≤ 100.
    """
    found: list[Reason] = []
    if air_c100 is not None:
        found += _air(air_c100, limits, units)
    if panel_c100 is not None:
        found += _panel(panel_c100, limits, units, told={reason.code for reason in found})
    if rh_rh10 is not None:
        found += _humidity(rh_rh10, limits)
    if air_c100 is not None and rh_rh10 is not None and panel_c100 is not None:
        found += _dew(air_c100, rh_rh10, panel_c100, limits, wet, units)
    return found


def _air(c100: int, limits: AirLimits, units: str) -> list[Reason]:
    if c100 < limits.warn_below_c100:
        code, side, limit = "air_cold", "below", limits.warn_below_c100
    elif c100 > limits.warn_above_c100:
        code, side, limit = "air_hot", "above", limits.warn_above_c100
    else:
        return []
    text = f"The air is at {format_c100(c100, units)}, {side} {format_c100(limit, units)}: film handles differently."
    return [Reason(code, text, Weight.NOTE)]


def _panel(c100: int, limits: AirLimits, units: str, told: set[str]) -> list[Reason]:
    shown = format_c100(c100, units)
    if c100 < limits.stop_below_c100:
        limit = format_c100(limits.stop_below_c100, units)
        return [Reason("panel_cold", f"The panel is at {shown}, below {limit}. Warm it, then read again.")]
    if c100 > limits.stop_above_c100:
        limit = format_c100(limits.stop_above_c100, units)
        return [Reason("panel_hot", f"The panel is at {shown}, above {limit}. Let it cool, then read again.")]
    # A cold bay makes a cool panel: said once, with the air.
    if c100 < limits.warn_below_c100 and "air_cold" not in told:
        limit = format_c100(limits.warn_below_c100, units)
        return [Reason("panel_cool", f"The panel is at {shown}, below {limit}: give it time.", Weight.NOTE)]
    if c100 > limits.warn_above_c100 and "air_hot" not in told:
        limit = format_c100(limits.warn_above_c100, units)
        return [Reason("panel_warm", f"The panel is at {shown}, above {limit}: give it time.", Weight.NOTE)]
    return []


def _humidity(rh10: int, limits: AirLimits) -> list[Reason]:
    if rh10 < limits.dry_below_rh10:
        limit = format_rh10(limits.dry_below_rh10)
        text = f"The air is dry: {format_rh10(rh10)}, below {limit}. Expect static; keep everything wet."
        return [Reason("air_dry", text, Weight.NOTE)]
    if rh10 > limits.damp_above_rh10:
        limit = format_rh10(limits.damp_above_rh10)
        text = f"The air is damp: {format_rh10(rh10)}, above {limit}. Edges dry slowly."
        return [Reason("air_damp", text, Weight.NOTE)]
    return []


def _dew(air_c100: int, rh10: int, panel_c100: int, limits: AirLimits, wet: bool, units: str) -> list[Reason]:
    dew = dew_point_c(air_c100 / 100, rh10 / 10)
    if panel_c100 / 100 >= dew + limits.dew_margin_c100 / 100:
        return []
    dew_c100 = round(dew * 100)
    away = format_difference_c100(panel_c100 - dew_c100, units)
    least = format_difference_c100(limits.dew_margin_c100, units)
    text = f"The panel is {away} above the dew point of {format_c100(dew_c100, units)}; {least} keeps it dry."
    if panel_c100 <= dew_c100:
        text = (
            f"The panel is at or below the dew point of {format_c100(dew_c100, units)}: water settles on it."
        )
    if wet:
        return [Reason("dew_note", text, Weight.NOTE)]
    return [Reason("dew_margin", f"{text} Warm the panel or dry the air, then read again.")]
