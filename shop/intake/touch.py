"""The parts of a zoomed panel that a finger meets: lanes, corner discs and rims, by state."""

from dataclasses import dataclass

from shop.intake.curves import Chain, bounds, flattened
from shop.intake.lanes import Lane
from shop.intake.shapes import Edge, say
from shop.intake.sheet_states import EdgeMark, EdgeState
from shop.intake.signs import disc, exclamation, finder, ring, short_dash, tick
from shop.intake.svg import paint, path_data, polyline_data, tag, text_of, text_width, words

_TOUCH = 56.0
_TEXT = 17.0


@dataclass(frozen=True)
class Place:
    """One edge or corner of a piece with all that is said about it."""

    panel: str  # with its piece: "hood.1"
    edge: Edge
    state: EdgeState
    ids: str
    language: str

    @property
    def title(self) -> str:
        return say(self.edge.title, self.language)

    @property
    def finish(self) -> str:
        if self.state.finish or self.edge.kind == "corner":
            return self.state.finish
        depth = f" {self.edge.return_mm} mm" if self.edge.return_mm else ""
        return self.edge.finish + depth

    @property
    def name(self) -> str:
        """What a screen reader says: title, finish, state in words."""
        return ", ".join(part for part in (self.title, self.finish, self.state.words) if part)

    def touched(self, *content: str) -> str:
        """Group that takes the touch and the keyboard; an open edge takes neither."""
        shared = {
            "class_": f"touch touch-{self.edge.kind} touch-{self.state.mark.value.replace('_', '-')}",
            "data_panel": self.panel,
            "data_edge": self.edge.code,
            "data_state": self.state.mark.value,
        }
        current = "true" if self.state.mark is EdgeMark.ASKED else None
        return tag(
            "g", *content, **shared, tabindex=0, role="button", aria_label=self.name, aria_current=current
        )


def _surface(place: Place) -> dict[str, object]:
    """Paint of a lane or a rim by its state."""
    mark = place.state.mark
    if mark is EdgeMark.ASKED:
        return paint("tape", "ink", 3.4, also="lane")
    if mark is EdgeMark.ANSWERED:
        return paint("ink", "ink", 1.6, also="lane")
    if mark is EdgeMark.WRONG:
        return paint("sheet", "ink", 4.0, "14 8", also="lane")
    if mark in (EdgeMark.NOT_HERE, EdgeMark.OPEN):
        return paint("sheet", "ink", 1.8, "1.8 4", also="lane")
    return paint("sheet", "ink", 1.6, also="lane")


def _ink_on(place: Place) -> str:
    return {EdgeMark.ANSWERED: "sheet", EdgeMark.ASKED: "tape-ink"}.get(place.state.mark, "ink")


def _halo(name: str) -> str:
    """Keyboard focus: a 3 px ink line, 3 px away. Hidden until the style sheet shows it."""
    ink, ground = ("ink", 14.0), ("sheet", 8.0)
    return "".join(
        tag("use", href=f"#{name}", display="none", **paint(stroke=stroke, width=width, also="halo"))
        for stroke, width in (ink, ground)
    )


def _shape(place: Place, data: str) -> str:
    """A lane or rim with its halo; the outline itself is written once."""
    name = f"{place.ids}-{place.edge.code}"
    outline = tag("defs", tag("path", id=name, d=data))
    return outline + _halo(name) + tag("use", href=f"#{name}", **_surface(place))


def edge_lane(place: Place, lane: Lane) -> str:
    reach = tag(
        "path",
        d=polyline_data(lane.middle),
        fill="none",
        stroke="transparent",
        stroke_width=_TOUCH,
        stroke_linejoin="round",  # a mitred joint would swell the box that a browser reports
        pointer_events="stroke",
        class_="surface",
    )
    parts = [_shape(place, polyline_data(lane.border, True))]
    start, end = 0.0, lane.length
    if place.state.photo and lane.length > 60:
        start = 48.0
        parts.append(finder(lane.along(27.0), 38, 32, 2.4))
    sign = _lane_sign(place, lane)
    if sign:
        end -= 38
        parts.append(sign)
    parts.append(_lane_text(place, lane, start, end))
    return place.touched(*parts, reach)


def _lane_sign(place: Place, lane: Lane) -> str:
    at = lane.along(lane.length - 22) if lane.length > 60 else lane.along(lane.length / 2)
    if place.state.mark is EdgeMark.WRONG:
        return exclamation(at, 24, "ink")
    if place.state.checked:
        return tick(at, 18, _ink_on(place))
    return ""


def _lane_text(place: Place, lane: Lane, start: float, end: float) -> str:
    """As many of name, finish and note as fit, set along the lane."""
    if end <= start:
        return ""
    start, end = lane.straightest(start, end)
    text = _fitting(place, end - start - 14)
    if not text:
        return ""
    count = max(2, round((end - start) / 12))
    points = [lane.along(start + (end - start) * index / count) for index in range(count + 1)]
    base = [point + _way(points, index) * 1j * _TEXT * 0.35 for index, point in enumerate(points)]
    name = f"{place.ids}-{place.edge.code}-words"
    line = tag("path", id=name, d=polyline_data(base), fill="none")
    run = tag("textPath", text_of(text), href=f"#{name}", startOffset="50%")
    said = tag(
        "text",
        run,
        font_size=_TEXT,
        font_weight="700",
        font_family="Fira Sans, sans-serif",
        text_anchor="middle",
        aria_hidden="true",
        **paint(_ink_on(place), also="words"),
    )
    return line + said


def _way(points: list[complex], index: int) -> complex:
    step = points[min(index + 1, len(points) - 1)] - points[max(index - 1, 0)]
    return step / (abs(step) or 1)


def _fitting(place: Place, room: float) -> str:
    note = place.state.note
    full = [part for part in (place.title, place.finish, note) if part]
    short = say(place.edge.short, place.language)
    for text in (" · ".join(full), " · ".join(full[:2]), place.title, short):
        if text and text_width(text, _TEXT, True) <= room:
            return text
    return ""


def corner_disc(place: Place, at: complex, radius: float) -> str:
    mark, primed = place.state.mark, place.state.primed
    if mark is EdgeMark.ASKED:
        drawn = disc(at, radius, "tape", "ink", 3.0)
    elif mark is EdgeMark.ANSWERED:
        drawn = disc(at, radius) + (_circle(at, radius - 4, "sheet") if primed else "")
        drawn += tick(at, radius * 0.8)
    elif mark is EdgeMark.WRONG:
        drawn = ring(at, radius, 4.0, "14 8") + exclamation(at, radius, "ink")
    elif mark in (EdgeMark.NOT_HERE, EdgeMark.OPEN):
        drawn = ring(at, radius, 1.8, "1.8 4") + short_dash(at, radius * 0.8, 3.0)
    elif primed:
        drawn = ring(at, radius, 2.0) + _stippled(at, radius)
    else:
        drawn = ring(at, radius, 1.8)
    if place.state.photo:
        drawn += finder(at + complex(radius * 0.75, radius * 0.75), 24, 20, 2.0)
    if place.state.checked and mark is not EdgeMark.ANSWERED:
        drawn += tick(at, radius * 0.8, "ink")
    reach = tag(
        "circle",
        cx=at.real,
        cy=at.imag,
        r=_TOUCH / 2,
        fill="transparent",
        pointer_events="all",
        class_="surface",
    )
    halo = "".join(
        tag(
            "circle",
            cx=at.real,
            cy=at.imag,
            r=radius,
            display="none",
            **paint(stroke=ink, width=wide, also="halo"),
        )
        for ink, wide in (("ink", 14.0), ("sheet", 8.0))
    )
    return place.touched(halo, drawn, reach)


def _circle(at: complex, radius: float, stroke: str) -> str:
    return tag("circle", cx=at.real, cy=at.imag, r=radius, **paint(stroke=stroke, width=1.6))


def _stippled(at: complex, radius: float) -> str:
    """Second ring, dots in it, and a P that stands clear of them: primer."""
    inner = radius - 5
    dots = "".join(
        disc(at + complex(x, y), 1.3)
        for x in range(-24, 25, 6)
        for y in range(-24, 25, 6)
        if radius * 0.44 < abs(complex(x, y)) < inner - 2.4
    )
    size = radius * 0.8
    letter = words("P", at + complex(0, size * 0.35), size, bold=True)
    return _circle(at, inner, "ink") + dots + letter


def rim_lane(place: Place, chain: Chain) -> str:
    """The rim of an opening: the opening itself is the lane."""
    data = path_data(chain, True)
    left, top, right, bottom = bounds(flattened(chain))
    middle = complex((left + right) / 2, (top + bottom) / 2)
    parts = [_shape(place, data)]
    room = right - left - 40 - (44 if place.state.photo else 0)
    text = _fitting(place, room) if bottom - top >= _TEXT else ""
    if text:
        parts.append(words(text, middle + complex(0, _TEXT * 0.35), _TEXT, _ink_on(place), bold=True))
    if place.state.photo:
        parts.append(finder(complex(left + 34, middle.imag), 36, min(30.0, bottom - top - 4), 2.4))
    if place.state.mark is EdgeMark.WRONG:
        parts.append(exclamation(complex(right - 30, middle.imag), min(24.0, (bottom - top) * 0.7), "ink"))
    high = max(bottom - top, min(_TOUCH, (bottom - top) * 1.7))
    reach = tag(
        "rect",
        x=left,
        y=middle.imag - high / 2,
        width=right - left,
        height=high,
        fill="transparent",
        pointer_events="all",
        class_="surface",
    )
    return place.touched(*parts, reach)
