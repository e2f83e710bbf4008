"""Seams of a zoomed panel that takes several pieces of film: a lane across it for each, and the pieces' numbers.

Pieces stand side by side on the panel's longer side, from the left, or from the nose where that side runs along the
car. Where on the body a seam really lies is the installer's choice; the drawing only says between which pieces.
"""

import itertools
from collections.abc import Iterable, Mapping, Sequence

from shop.intake.curves import bounds
from shop.intake.lanes import Lane
from shop.intake.shapes import Edge
from shop.intake.sheet_states import EdgeMark, EdgeState
from shop.intake.svg import paint, polyline_data, tag, text_width, words
from shop.intake.touch import Place, edge_lane

Box = tuple[float, float, float, float]
_DASHES = "14 5"
_LEAST = 40.0  # px of a lane that still holds its short name
_NUMBER = 22.0


def seam_edge(number: int) -> Edge:
    title = {"en": f"Seam {number}, piece {number} to {number + 1}"}
    return Edge(f"seam-{number}", "seam", title, "seam", short={"en": f"Seam {number}"})


def seam_lines(outline: Sequence[complex], pieces: int) -> list[tuple[complex, complex]]:
    """Where each seam runs across the outline, from the first piece on; nothing for a panel in one piece."""
    left, top, right, bottom = bounds(outline)
    wide = right - left >= bottom - top
    lines = []
    for number in range(1, pieces):
        share = number / pieces
        # Turned a quarter, an upright panel is cut like a lying one.
        turned = outline if wide else [complex(point.imag, point.real) for point in outline]
        at = left + (right - left) * share if wide else top + (bottom - top) * share
        low, high = _crossed(turned, at)
        ends = (complex(at, low), complex(at, high)) if wide else (complex(low, at), complex(high, at))
        lines.append(ends)
    return lines


def _crossed(outline: Sequence[complex], at: float) -> tuple[float, float]:
    """Lowest and highest place at which the outline meets the upright line."""
    found = []
    for one, other in itertools.pairwise([*outline, outline[0]]):
        if (one.real - at) * (other.real - at) <= 0 and one.real != other.real:
            found.append(one.imag + (other.imag - one.imag) * (at - one.real) / (other.real - one.real))
    return min(found), max(found)


def seams(
    outline: Sequence[complex],
    openings: Sequence[Box],
    pieces: int,
    places: Mapping[str, Place],
    thick: float,
) -> list[str]:
    """Every seam as a broken line, and those in `places` as lanes that can be touched."""
    drawn = []
    for number, (start, end) in enumerate(seam_lines(outline, pieces), 1):
        line = polyline_data([start, end])
        drawn.append(tag("path", d=line, **paint(stroke="ink", width=1.6, dash=_DASHES)))
        place = places.get(f"seam-{number}")
        if place and place.state.mark is not EdgeMark.OPEN:
            drawn.append(edge_lane(place, _lane(_free(start, end, openings, thick / 2), thick)))
    return drawn


def lanes_of(outline: Sequence[complex], pieces: int, thick: float) -> list[Box]:
    """The ground that seams take, for whatever else wants room on the panel."""
    half = complex(thick / 2, thick / 2)
    return [bounds([start - half, end + half]) for start, end in seam_lines(outline, pieces)]


def _free(start: complex, end: complex, openings: Iterable[Box], half: float) -> tuple[complex, complex]:
    """The longest stretch between openings; the whole seam where they leave too little for a finger."""
    way = (end - start) / (abs(end - start) or 1)
    upright = abs(way.imag) > abs(way.real)
    at, first, last = (start.real, start.imag, end.imag) if upright else (start.imag, start.real, end.real)
    taken = sorted(
        (box[1], box[3]) if upright else (box[0], box[2])
        for box in openings
        if (box[0] - half <= at <= box[2] + half if upright else box[1] - half <= at <= box[3] + half)
    )
    marks = [first, *(side for pair in taken for side in pair), last]
    gaps = [(low, high) for low, high in zip(marks[::2], marks[1::2], strict=True) if high - low >= _LEAST]
    if not gaps:
        return start, end
    low, high = max(gaps, key=lambda gap: gap[1] - gap[0])
    return (complex(at, low), complex(at, high)) if upright else (complex(low, at), complex(high, at))


def _lane(ends: tuple[complex, complex], thick: float) -> Lane:
    start, end = ends
    length = abs(end - start)
    way = (end - start) / (length or 1)
    cut = min(6.0, length / 8)
    start, end = start + way * cut, end - way * cut
    length = abs(end - start)
    aside = way * 1j * thick / 2
    count = max(2, round(length / 12))
    middle = tuple(start + (end - start) * index / count for index in range(count + 1))
    return Lane(middle, (start + aside, end + aside, end - aside, start - aside), length)


def numbers(outline: Sequence[complex], pieces: int, piece: int) -> str:
    """Each piece's number near its upper end; the one being looked at in ink."""
    if pieces < 2:
        return ""
    left, top, right, bottom = bounds(outline)
    wide = right - left >= bottom - top
    halves = seam_lines(outline, 2 * pieces)[::2]
    said = []
    for number, (start, _) in enumerate(halves, 1):
        at = start + (complex(0, _NUMBER * 1.5) if wide else complex(_NUMBER * 1.2, _NUMBER * 0.35))
        text = str(number)
        size = text_width(text, _NUMBER, True) + 10
        ground = tag(
            "rect",
            x=at.real - size / 2,
            y=at.imag - _NUMBER * 0.85,
            width=size,
            height=_NUMBER * 1.1,
            **paint("sheet"),
        )
        said.append(ground + words(text, at, _NUMBER, "ink" if number == piece else "ink-2", bold=True))
    return tag("g", *said, class_="pieces", aria_hidden="true", pointer_events="none")


def own_seams(edges: Mapping[str, EdgeState], pieces: int) -> list[Edge]:
    """Seams somebody says something about, in order."""
    return [seam_edge(number) for number in range(1, pieces) if f"seam-{number}" in edges]
