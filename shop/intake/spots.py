"""Paint thickness: the mean of a spot, and panels that stand out from the rest of the car. Thickness in 0.1 µm.

A spot is the mean of at least three gauge readings close together (SSPC-PA 2; gauges by ASTM D7091). There is no
standard for factory paint: a panel is compared with its own car, never with an absolute number.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from statistics import median
from typing import Final

from shop.units import METRIC, format_um10, half_up

FEWEST_READINGS: Final = 3
FEWEST_PANELS: Final = 3


@dataclass(frozen=True)
class StandsOut:
    """A panel whose paint differs from the car's median; `difference_um10` is negative where it is thinner."""

    panel: str
    thickness_um10: int
    median_um10: int
    difference_um10: int
    text: str


def spot_um10(readings_um10: Sequence[int], material: str) -> int:
    """The mean of one spot, rounded half up. ValueError with a sentence for too few readings or no metal."""
    if material != "metal":
        raise ValueError("A paint gauge reads metal only: this panel is not marked as metal.")
    if len(readings_um10) < FEWEST_READINGS:
        raise ValueError(f"Take {FEWEST_READINGS} readings close together; {len(readings_um10)} are too few.")
    if min(readings_um10) < 0:
        raise ValueError("A reading cannot be below nought: set the gauge to zero and read again.")
    return half_up(Fraction(sum(readings_um10), len(readings_um10)))


def standing_out(
    spots_um10: Mapping[str, Sequence[int]], *, differs_um10: int, units: str = METRIC
) -> list[StandsOut]:
    """Panels with a spot further than `differs_um10` from the median of all panels, the farthest first.

    `spots_um10` are the spots of each metal panel. Under three panels there is no rest of the car to compare with.
    """
    measured = {panel: spots for panel, spots in spots_um10.items() if spots}
    if len(measured) < FEWEST_PANELS:
        return []
    middles = [Fraction(sum(spots), len(spots)) for spots in measured.values()]
    usual = half_up(median(middles))
    found = []
    for panel, spots in measured.items():
        farthest = max(spots, key=lambda spot: abs(spot - usual))
        if abs(farthest - usual) > differs_um10:
            found.append(_stands_out(panel, farthest, usual, units))
    return sorted(found, key=lambda one: -abs(one.difference_um10))


def _stands_out(panel: str, thickness: int, usual: int, units: str) -> StandsOut:
    side = "thicker" if thickness > usual else "thinner"
    hint = (
        "it may have been repainted" if thickness > usual else "it may have been sanded or polished through"
    )
    text = (
        f"Paint of {format_um10(thickness, units)} where this car usually has {format_um10(usual, units)}: "
        f"{side}, {hint}. Ask, and note what you are told."
    )
    return StandsOut(panel, thickness, usual, thickness - usual, text)
