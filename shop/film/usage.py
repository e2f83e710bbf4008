"""How much film a piece takes, what is left on a roll, and how a mix is made up.

Lengths in whole mm, volumes in 0.1 ml. Mixing follows C1·V1 = C2·V2 with the total as the measured volume:
isopropanol and water shrink when they meet, so a mix is *made up to* a volume, never topped with the difference.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from shop.units import half_up

IN: Final = "in"
PLUS: Final = "plus"


@dataclass(frozen=True)
class Taken:
    """Film cut for one piece: `length_mm` off the roll, `width_mm` of its width; `turned` lies across the roll."""

    length_mm: int
    width_mm: int
    turned: bool


@dataclass(frozen=True)
class Mix:
    """A mix of `total_ml10`: `stock_ml10` of the concentrate, made up with water to the total."""

    stock_ml10: int
    total_ml10: int


def film_for(
    width_mm: int,
    length_mm: int,
    *,
    allowance_mm: int,
    roll_width_mm: int,
    directional: bool,
    least_mm: int | None = None,
) -> Taken:
    """Film for a piece of nominal size with an allowance on every side, the way that takes less of the roll.

    Directional film must run one way on the whole car, so its pieces are not turned: `length_mm` runs with the
    roll. `least_mm` is the allowance that will do across the roll where its width leaves no more; without it the
    whole allowance is wanted. ValueError with a sentence for sizes that cannot be, or a piece wider than the roll.
    """
    least = allowance_mm if least_mm is None else min(least_mm, allowance_mm)
    if min(width_mm, length_mm, roll_width_mm) < 1 or least < 0:
        raise ValueError("A piece and a roll have a size, and an allowance is not negative.")
    wide, long = width_mm + 2 * allowance_mm, length_mm + 2 * allowance_mm
    ways = [Taken(long, wide, turned=False)] + ([] if directional else [Taken(wide, long, turned=True)])
    spare = 2 * (allowance_mm - least)
    fitting = [
        Taken(way.length_mm, min(way.width_mm, roll_width_mm), way.turned)
        for way in ways
        if way.width_mm - spare <= roll_width_mm
    ]
    if not fitting:
        short = min(way.width_mm for way in ways) - spare - roll_width_mm
        turned = (
            " Directional film cannot be turned." if directional and long - spare <= roll_width_mm else ""
        )
        raise ValueError(
            f"The roll is {short} mm too narrow for this piece: use a wider one or a seam.{turned}"
        )
    return min(fitting, key=lambda way: (way.length_mm, way.turned))


def left_mm(roll_length_mm: int, cuts_mm: Iterable[int]) -> int:
    """Length left on a roll; negative when more was cut than it held, which somebody has to look at."""
    return roll_length_mm - sum(cuts_mm)


def read_ratio(text: str) -> tuple[int, int]:
    """A ratio as printed on a bottle.

    >>> read_ratio("1:10"), read_ratio(" 1 / 256 ")
    ((1, 10), (1, 256))
    """
    found = re.fullmatch(r"\s*([0-9]{1,5})\s*[:/]\s*([0-9]{1,5})\s*", text)
    if not found or "0" in (found[1].lstrip("0") or "0", found[2].lstrip("0") or "0"):
        raise ValueError("Write the ratio as two whole numbers: for example 1:10.")
    return int(found[1]), int(found[2])


def mix_by_ratio(total_ml10: int, ratio: tuple[int, int], *, meant: str) -> Mix:
    """A mix by ratio. `meant` says which way it is read, as labels differ: `in` is 1 part in 10 parts of mix,
    `plus` is 1 part and 10 parts of water.

    >>> mix_by_ratio(10000, (1, 10), meant="in"), mix_by_ratio(10000, (1, 10), meant="plus")
    (Mix(stock_ml10=1000, total_ml10=10000), Mix(stock_ml10=909, total_ml10=10000))
    """
    stock, other = ratio
    if meant not in (IN, PLUS):
        raise ValueError(
            "Say how the ratio is meant: 1 part in 10 parts of mix, or 1 part plus 10 parts of water."
        )
    whole = other if meant == IN else stock + other
    if not 0 < stock <= whole or other < 1:
        raise ValueError("There cannot be more of the concentrate than of the mix.")
    return _mix(total_ml10, Fraction(stock, whole))


def mix_by_strength(total_ml10: int, *, stock_percent10: int, wanted_percent10: int) -> Mix:
    """A weaker mix from a stronger one, strengths in 0.1 % by volume.

    >>> mix_by_strength(10000, stock_percent10=990, wanted_percent10=700)
    Mix(stock_ml10=7071, total_ml10=10000)
    """
    if not 0 < wanted_percent10 <= stock_percent10 <= 1000:
        raise ValueError("A mix is never stronger than what it is made from, and nothing is above 100 %.")
    return _mix(total_ml10, Fraction(wanted_percent10, stock_percent10))


def _mix(total_ml10: int, share: Fraction) -> Mix:
    if total_ml10 < 1:
        raise ValueError("Say how much is to be mixed.")
    return Mix(stock_ml10=half_up(total_ml10 * share), total_ml10=total_ml10)
