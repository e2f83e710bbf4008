"""From the lines where panels meet to the outline of one panel: drawn inside its lines, corners rounded."""

import itertools
import math
from collections.abc import Sequence

from shop.intake.curves import (
    Chain,
    Cubic,
    area,
    arriving,
    flattened,
    leaving,
    length,
    line,
    shortened,
    split,
)

_SMOOTH = math.radians(9)  # a turn below this is no corner: nothing to round


def inset(sides: Sequence[Chain], gap: float, radius: float) -> tuple[list[Chain], list[complex]]:
    """Sides of a closed loop, moved `gap` inwards, its corners rounded by `radius`.

    Returns the sides again, each from the middle of one rounded corner to the middle of the next, and those
    middles: number i lies between side i and side i + 1.
    """
    inward = gap if area([c for side in sides for c in side]) > 0 else -gap
    moved = [_joined([_offset(bit, inward) for c in side for bit in _gentle(c)]) for side in sides]
    count = len(moved)
    for index in range(count):
        after = (index + 1) % count
        if index == after:
            moved[index] = _closed(moved[index])
        else:
            moved[index], moved[after] = _met(moved[index], moved[after])
    return _rounded(moved, radius)


def _gentle(c: Cubic) -> Chain:
    """The curve, in halves when it bends too much to be offset in one."""
    turn = (leaving(c).conjugate() * arriving(c)).real
    return (c,) if turn > 0.87 else split(c, 0.5)


def _offset(c: Cubic, by: float) -> Cubic:
    """The control polygon's legs moved sideways: exact for lines, close for gentle curves (Tiller and Hanson)."""
    legs = [(a, b) for a, b in itertools.pairwise(c) if abs(b - a) > 1e-6]
    if not legs:
        return c
    moved = [(a + _side(a, b) * by, b + _side(a, b) * by) for a, b in legs]
    if len(moved) == 1:
        return line(moved[0][0], moved[0][1])
    inner = [_crossing(*moved[i], *moved[i + 1]) for i in range(len(moved) - 1)]
    first, last = inner[0], inner[-1]
    return (moved[0][0], first or moved[0][1], last or moved[-1][0], moved[-1][1])


def _side(a: complex, b: complex) -> complex:
    return (b - a) / abs(b - a) * 1j


def _crossing(a: complex, b: complex, c: complex, d: complex) -> complex | None:
    """Where the straight lines through ab and cd meet; None when they are all but parallel."""
    r, s = b - a, d - c
    slope = (r.conjugate() * s).imag
    if abs(slope) < 1e-3 * abs(r) * abs(s):
        return None
    return a + r * (((c - a).conjugate() * s).imag / slope)


def _joined(curves: Sequence[Cubic]) -> Chain:
    chain: Chain = ()
    for c in curves:
        if chain:
            chain, rest = _met(chain, (c,))
            chain += rest
        else:
            chain = (c,)
    return chain


def _closed(chain: Chain) -> Chain:
    half = len(chain) // 2
    end, start = _met(chain[half:], chain[:half])
    return start + end


def _met(first: Chain, second: Chain) -> tuple[Chain, Chain]:
    """Two chains whose ends lie near each other, trimmed or led on until they meet."""
    a, b = first[-1], second[0]
    if abs(a[3] - b[0]) < 0.02:
        return (*first[:-1], (*a[:3], b[0])), second
    hit = _cut(first, second)
    if hit:
        return hit
    apex = _crossing(a[3], a[3] + arriving(a), b[0], b[0] + leaving(b))
    if apex is None or abs(apex - a[3]) > 40:
        return (*first, line(a[3], b[0])), second
    return (*first, line(a[3], apex)), (line(apex, b[0]), *second)


def _cut(first: Chain, second: Chain) -> tuple[Chain, Chain] | None:
    """Both chains cut where they cross, as near as possible to their common end."""
    for back in range(1, min(4, len(first)) + 1):
        for ahead in range(min(4, len(second))):
            at = _crossing_of_curves(first[-back], second[ahead])
            if at:
                kept = split(first[-back], at[0])[0]
                rest = split(second[ahead], at[1])[1]
                kept = (*kept[:3], rest[0])
                return (*first[: len(first) - back], kept), (rest, *second[ahead + 1 :])
    return None


def _crossing_of_curves(a: Cubic, b: Cubic) -> tuple[float, float] | None:
    steps = 40
    one, two = flattened((a,), steps), flattened((b,), steps)
    for i in range(steps - 1, -1, -1):
        for j in range(steps):
            found = _crossing_of_steps(one[i], one[i + 1], two[j], two[j + 1])
            if found:
                return (i + found[0]) / steps, (j + found[1]) / steps
    return None


def _crossing_of_steps(a: complex, b: complex, c: complex, d: complex) -> tuple[float, float] | None:
    r, s = b - a, d - c
    slope = (r.conjugate() * s).imag
    if abs(slope) < 1e-12:
        return None
    t = ((c - a).conjugate() * s).imag / slope
    u = ((c - a).conjugate() * r).imag / slope
    return (t, u) if 0 <= t <= 1 and 0 <= u <= 1 else None


def _rounded(sides: Sequence[Chain], radius: float) -> tuple[list[Chain], list[complex]]:
    count = len(sides)
    cuts = [_corner_cut(sides[i], sides[(i + 1) % count], radius) for i in range(count)]
    short = [shortened(side, cuts[i - 1], cuts[i]) for i, side in enumerate(sides)]
    nodes: list[complex] = []
    ends: list[tuple[Chain, Chain]] = []
    for index, side in enumerate(short):
        after = short[(index + 1) % count]
        halves = _fillet(side[-1], after[0], sides[index][-1][3]) if cuts[index] else ((), ())
        ends.append(halves)
        nodes.append(halves[0][-1][3] if halves[0] else side[-1][3])
    return [ends[i - 1][1] + side + ends[i][0] for i, side in enumerate(short)], nodes


def _corner_cut(before: Chain, after: Chain, radius: float) -> float:
    """How far from the corner the rounding starts, measured along both sides."""
    way_in, way_out = arriving(before[-1]), leaving(after[0])
    turn = abs(math.atan2((way_in.conjugate() * way_out).imag, (way_in.conjugate() * way_out).real))
    if turn < _SMOOTH or before is after:
        return 0.0
    wanted = radius * min(math.tan(turn / 2), 1.6)
    return min(wanted, 0.4 * length(before), 0.4 * length(after))


def _fillet(before: Cubic, after: Cubic, apex: complex) -> tuple[Chain, Chain]:
    start, end = before[3], after[0]
    whole: Cubic = (start, start + (apex - start) * 0.6, end + (apex - end) * 0.6, end)
    first, second = split(whole, 0.5)
    return (first,), (second,)
