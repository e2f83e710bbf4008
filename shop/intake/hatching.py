"""Hatch lines at 45°, cut to an outline.

Lines, not a pattern fill: paper shows seams between a pattern's tiles, and a screen blurs them.
"""

import cmath
import math
from collections.abc import Sequence

_TURN = cmath.rect(1, math.radians(45))


def hatch_lines(
    outlines: Sequence[Sequence[complex]], pitch: float, both_ways: bool = False
) -> list[tuple[complex, complex]]:
    """Line ends inside closed polygons given in px (even-odd, so a polygon within another is a hole).

    Lines lie `pitch` px apart and count from the drawing's zero, so that neighbours' lines run on.
    """
    lines = _lines(outlines, pitch, _TURN)
    return lines + _lines(outlines, pitch, _TURN.conjugate()) if both_ways else lines


def _lines(
    outlines: Sequence[Sequence[complex]], pitch: float, turn: complex
) -> list[tuple[complex, complex]]:
    level = [[point * turn for point in outline] for outline in outlines]
    crossings: dict[int, list[float]] = {}
    for outline in level:
        for a, b in zip(outline, [*outline[1:], outline[0]], strict=True):
            low, high = sorted((a, b), key=lambda point: point.imag)
            for row in range(math.ceil(low.imag / pitch), math.ceil(high.imag / pitch)):
                share = (row * pitch - low.imag) / (high.imag - low.imag)
                crossings.setdefault(row, []).append(low.real + (high.real - low.real) * share)
    back = turn.conjugate()
    lines = []
    for row in sorted(crossings):
        ends = sorted(crossings[row])
        for start, end in zip(ends[::2], ends[1::2], strict=True):
            lines.append((complex(start, row * pitch) * back, complex(end, row * pitch) * back))
    return lines
