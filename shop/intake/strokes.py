"""A signature drawn on the screen: strokes as points, kept as text, shown as one vector path.

Points are whole thousandths of the pad, x to the right and y downwards. The pad is wider than high, so heights
are brought to scale only when drawn.
"""

import json
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Any

from shop.reasons import Reason, Refused

Stroke = list[tuple[int, int]]

PAD = (1000, 320)
MOST_STROKES = 200
MOST_POINTS = 6000
LEAST_LENGTH = 60


def read_strokes(given: Any) -> list[Stroke]:
    """Strokes from a list of lists of [x, y], or its JSON text. Refused when it is not a signature."""
    if isinstance(given, str):
        try:
            given = json.loads(given) if given.strip() else []
        except (ValueError, RecursionError):
            raise Refused(_unreadable()) from None
    if not isinstance(given, list):
        raise Refused(_unreadable())
    if not given:
        raise Refused(Reason("customer_unsigned", "The customer has not signed: draw it on the pad."))
    if len(given) > MOST_STROKES:
        raise Refused(_unreadable())
    strokes = [_stroke(stroke) for stroke in given]
    if sum(len(stroke) for stroke in strokes) > MOST_POINTS:
        raise Refused(_unreadable())
    if sum(map(_length, strokes)) < LEAST_LENGTH:
        text = "That is a dot, not a signature: clear the pad and let the customer sign again."
        raise Refused(Reason("customer_unsigned", text))
    return strokes


def strokes_text(strokes: Iterable[Stroke]) -> str:
    """One spelling for the same strokes, as it is kept.

    >>> strokes_text([[(1, 2), (3, 4)]])
    '[[[1,2],[3,4]]]'
    """
    return json.dumps([[list(point) for point in stroke] for stroke in strokes], separators=(",", ":"))


def strokes_path(strokes: Iterable[Stroke]) -> str:
    """The path data in the pad's own box of 1000 by 320; a stroke of one point is a dot."""
    return " ".join(_path(stroke) for stroke in strokes if stroke)


def strokes_svg(strokes: Iterable[Stroke], title: str = "Signature") -> str:
    """The signature as SVG for pages and papers; `title` is plain text of our own."""
    return (
        f'<svg class="signature" viewBox="0 0 {PAD[0]} {PAD[1]}" width="{PAD[0]}" height="{PAD[1]}" '
        f'role="img" aria-label="{title}"><path d="{strokes_path(strokes)}" fill="none" stroke="currentColor" '
        f'stroke-width="5" stroke-linecap="round" stroke-linejoin="round"/></svg>'
    )


def drawn(text: str) -> str:
    """The signature kept as this text, as SVG; nothing where it was erased."""
    return strokes_svg(read_strokes(text)) if text else ""


def _unreadable() -> Reason:
    return Reason("customer_unsigned", "The signature could not be read: clear the pad and sign again.")


def _stroke(given: Any) -> Stroke:
    if not isinstance(given, list | tuple) or not given or len(given) > MOST_POINTS:
        raise Refused(_unreadable())
    return [_point(point) for point in given]


def _point(given: Any) -> tuple[int, int]:
    if not isinstance(given, list | tuple) or len(given) != 2:
        raise Refused(_unreadable())
    x, y = given
    if not all(type(value) is int and 0 <= value <= 1000 for value in (x, y)):
        raise Refused(_unreadable())
    return x, y


def _length(stroke: Sequence[tuple[int, int]]) -> int:
    return sum(abs(b[0] - a[0]) + abs(b[1] - a[1]) for a, b in pairwise(stroke))


def _path(stroke: Stroke) -> str:
    points = [(x, round(y * PAD[1] / 1000)) for x, y in stroke]
    if len(points) == 1:
        points.append(points[0])
    (x, y), *rest = points
    return f"M{x} {y}" + "".join(f"L{x} {y}" for x, y in rest)
