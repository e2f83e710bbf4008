"""What is drawn but never asked: wheels, glass, lamps, handles, creases, axle lines, names of the ends."""

import cmath
import math

from shop.intake.curves import moved
from shop.intake.drawing_panels import Look
from shop.intake.shapes import Body, Decor, Wheel
from shop.intake.svg import paint, path_data, polyline_data, tag, words

_FILLED = {"glass", "trim", "lamp", "plate", "handle", "sensor"}
_SPOKES = 10
_GLINT = complex(26, -26)  # the two short parallel strokes that say glass; never mirrored


def centre_lines(body: Body, look: Look) -> str:
    """Centre line and axle lines, broken as in a technical drawing; everything else lies over them."""
    if not look.size.axles:
        return ""
    box = body.box
    ends = [(complex(0, box.y - 14), complex(0, box.y + box.height + 14))]
    ends += [(complex(box.x - 8, axle), complex(box.x + box.width + 8, axle)) for axle in body.axles]
    data = "".join(polyline_data(map(look.frame.px, pair)) for pair in ends)
    return tag("path", d=data, **paint(stroke="line", width=look.size.decor, dash="18 4 3 4"))


def wheel(each: Wheel, look: Look) -> str:
    at, scale, thin = look.frame.px(each.centre), look.frame.scale, paint("sheet", "line", look.size.decor)
    spoked = look.frame.width >= look.size.spokes_from
    hub = each.rim * 0.22
    radii = [each.tyre, each.rim, each.rim * 0.935] if spoked else [each.tyre, each.rim]
    said = "".join(tag("circle", cx=at.real, cy=at.imag, r=radius * scale, **thin) for radius in radii)
    if spoked:
        spokes = "".join(_spoke(at, index, hub * scale, radii[2] * scale) for index in range(_SPOKES))
        said += tag("path", d=spokes, **paint(stroke="line", width=look.size.decor))
        said += tag("circle", cx=at.real, cy=at.imag, r=hub * scale, **thin)
    return tag("g", said, class_="wheel")


def _spoke(at: complex, index: int, inner: float, outer: float) -> str:
    """Two parallel lines from hub to rim."""
    way = cmath.rect(1, math.tau * index / _SPOKES + math.pi / 2)
    aside = way * 1j * outer * 0.05
    return "".join(
        polyline_data([at + way * inner + side, at + way * outer + side]) for side in (aside, -aside)
    )


def piece_of_decor(piece: Decor, look: Look, ground: str = "sheet") -> str:
    """`ground`: paint of the panel under it; on solid its lines turn to sheet."""
    dark = ground == "solid" and piece.kind != "slat"
    stroke = "sheet" if dark else "line"
    fill = None
    if piece.kind in _FILLED:
        fill = "solid" if dark and piece.kind == "handle" else "sheet"
    width = look.size.decor
    said = ""
    if piece.cup:
        said += tag("path", d=_data(piece.cup, look, True), **paint(stroke=stroke, width=width))
    said += tag("path", d=_data(piece.curves, look, piece.closed), **paint(fill, stroke, width))
    if piece.glint is not None:
        half = _GLINT / 2
        lines = [(piece.glint + shift - half, piece.glint + shift + half) for shift in (-5, 6 + 2j)]
        data = "".join(polyline_data(map(look.frame.px, pair)) for pair in lines)
        said += tag("path", d=data, **paint(stroke=stroke, width=width))
    return said


def _data(chain: tuple[tuple[complex, complex, complex, complex], ...], look: Look, closed: bool) -> str:
    return path_data(moved(chain, look.frame.px), closed)


_PLACES = {
    "en": ("Nose", "Tail", "Left side", "Right side"),
}


def place_names(body: Body, look: Look) -> str:
    """Nose, tail and the two sides by name, and a bar of one metre."""
    names = _PLACES.get(look.language, _PLACES["en"])
    box, high = body.box, look.frame.name_size - 2
    low = box.y + box.height
    ends = look.frame.px(complex(0, box.y)), look.frame.px(complex(0, low))
    said = words(names[0], ends[0] - 20j, high, "ink-2")
    said += words(names[1], ends[1] + 29j, high, "ink-2")
    for name, side in ((names[2], -1), (names[3], 1)):
        said += words(
            name, look.frame.px(complex(side * 345, max(low - 145, body.axles[-1] + 260))), high, "ink-2"
        )
    return tag("g", said, _metre(body, look), class_="label", aria_hidden="true", pointer_events="none")


def _metre(body: Body, look: Look) -> str:
    start = look.frame.px(complex(body.box.x + 6, body.box.y + body.box.height - 12))
    quarter = 250_000 / body.length_mm * look.frame.scale
    bars = [
        tag(
            "rect",
            x=start.real + index * quarter,
            y=start.imag,
            width=quarter,
            height=6,
            **paint("ink" if index % 2 == 0 else "sheet", "ink", 1.0),
        )
        for index in range(4)
    ]
    size = look.frame.name_size - 2
    ends = words("0", start - 7j, size) + words("1 m", start + 4 * quarter - 7j, size)
    return "".join(bars) + ends
