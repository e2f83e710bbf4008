"""One panel zoomed as SVG text: a lane for every edge, a disc for every corner, the panel itself left empty."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shop.intake.curves import Chain, area, bounds, contains, flattened, moved, turned_round
from shop.intake.lanes import Lane, Ring, lane, ring_round, spread
from shop.intake.shapes import Body, Panel, PanelShape, say
from shop.intake.sheet_states import EdgeMark, EdgeState, Mark
from shop.intake.stripes import stripe
from shop.intake.svg import paint, path_data, polyline_data, tag, text_width, words
from shop.intake.touch import Place, corner_disc, edge_lane, rim_lane
from shop.intake.zoom_marks import zoomed_box, zoomed_marks
from shop.intake.zoom_seams import lanes_of, numbers, own_seams, seams

Bounds = tuple[float, float, float, float]
_TOUCH = 56.0  # px that a gloved finger needs
_GAP = 9.0
_DASHES = "18 4 3 4"


@dataclass(frozen=True)
class _Zoom:
    across: float  # px per thousandth
    down: float
    origin: complex

    def px(self, at: complex) -> complex:
        return self.origin + complex(at.real * self.across, at.imag * self.down)

    def chain(self, chain: Chain) -> Chain:
        return moved(chain, self.px)


def draw_panel(
    body: Body,
    panel: str,
    piece: int = 1,
    *,
    edges: Mapping[str, EdgeState],
    marks: Sequence[Mark] = (),
    focus: str = "",
    width: int = 780,
    height: int = 660,
    ids: str = "panel",
    facts: str = "",
    language: str = "en",
    pieces: int = 1,
) -> str:
    """One panel zoomed, a lane for every edge and a disc for every corner that can be touched.

    `edges`: by edge code; one that is missing is unanswered. `marks` stand at thousandths of the panel's box as it is
    drawn here (`data-box`). `focus`: code of the edge asked now. `facts`:
    line under the panel's name ("metal · opens"). `ids`: prefix of ids, one per drawing on a page. Each lane
    and disc carries data-edge ("front") and data-panel ("hood.1"). `pieces`: how many it takes; of the seams
    between them those in `edges` ("seam-1") can be touched. KeyError when the body has no such panel.
    """
    shown = stripe(panel) or body.panel(panel)
    roomy = width >= 560
    thick, radius = (44.0, 28.0) if roomy else (40.0, 25.0)
    zoom = _fitted(shown, width, height, _GAP + thick / 2 + radius + 4)
    parts = [_ground(body, shown, zoom)]
    outline = [zoom.px(point) for point in flattened(shown.flat.outline, 5)]
    openings = [_grown(zoom.chain(rim.curves), 6) for rim in shown.flat.rims]
    if roomy:
        taken = openings + lanes_of(outline, pieces, thick)
        parts.append(_name(shown, outline, taken, facts, language))
    own = [*shown.edges, *own_seams(edges, pieces)]
    places = [
        Place(f"{panel}.{piece}", edge, _state(edge.code, edge.finish, edges, focus), ids, language)
        for edge in own
    ]
    parts += seams(outline, openings, pieces, {place.edge.code: place for place in places}, thick)
    parts.append(numbers(outline, pieces, piece))
    parts += _touches(shown, zoom, {place.edge.code: place for place in places}, thick, radius)
    parts += zoomed_marks(shown, marks, zoom.px)
    title = say(shown.title, language)
    return tag(
        "svg",
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        id=ids,
        class_="panel-sheet",
        viewBox=f"0 0 {width} {height}",
        width=width,
        height=height,
        role="group",
        aria_label=f"{title}, edges and corners",
        data_body=f"{body.name} {body.version}",
        data_box=zoomed_box(shown, zoom.px),
    )


def _state(code: str, finish: str, edges: Mapping[str, EdgeState], focus: str) -> EdgeState:
    state = edges.get(code) or EdgeState(EdgeMark.OPEN if finish == "open" else EdgeMark.UNANSWERED)
    if code == focus and state.mark is EdgeMark.UNANSWERED:
        return EdgeState(EdgeMark.ASKED, state.photo, state.primed, state.checked, state.finish, state.note)
    return state


def _fitted(panel: Panel, width: int, height: int, margin: float) -> _Zoom:
    """Scale that fills the drawing. A long slim panel is widened somewhat: it is there to be touched."""
    left, top, right, bottom = bounds(flattened(panel.flat.outline))
    across = (width - 2 * margin) / (right - left)
    down = (height - 2 * margin) / (bottom - top)
    slim = max(right - left, bottom - top) > 2.5 * min(right - left, bottom - top)
    least = min(across, down) * (1.6 if slim else 1.12)
    across, down = min(across, least), min(down, least)
    middle = complex((left + right) / 2 * across, (top + bottom) / 2 * down)
    return _Zoom(across, down, complex(width / 2, height / 2) - middle)


def _ground(body: Body, panel: Panel, zoom: _Zoom) -> str:
    """Outline, centre line and what is drawn on the panel; empty of state, which stands in the lanes."""
    flat = panel.flat
    said = tag("path", d=path_data(zoom.chain(flat.outline), True), **paint("sheet"))
    left, top, right, bottom = bounds(map(zoom.px, flattened(flat.outline)))
    if abs(left + right - 2 * zoom.px(0).real) < 1 and flat.view != "side":
        middle = (left + right) / 2
        line = polyline_data([complex(middle, top), complex(middle, bottom)])
        said += tag("path", d=line, **paint(stroke="line", width=1.0, dash=_DASHES))
    for piece in body.decor:
        if piece.panel == panel.code and piece.view == flat.view:
            for chain in (piece.cup, piece.curves):
                data = path_data(zoom.chain(chain), piece.closed or chain is piece.cup)
                fill = "sheet" if piece.closed else None
                said += tag("path", d=data, **paint(fill, "line", 1.2)) if data else ""
    for edge in flat.edges:
        if not edge.closed:
            broken = not edge.code or panel.edge(edge.code).finish == "open"
            dash = "1.5 3.5" if broken else None
            said += tag(
                "path", d=path_data(zoom.chain(edge.curves)), **paint(stroke="ink", width=1.8, dash=dash)
            )
    return tag("g", said, class_="ground")


def _name(panel: Panel, outline: list[complex], openings: list[Bounds], facts: str, language: str) -> str:
    """Name and facts where the panel has room for them; left out where it has none (the page says both)."""
    name = say(panel.title, language)
    for size in (44.0, 30.0, 22.0):
        small = 17.0
        wide = max(text_width(name, size, True), text_width(facts, small)) + 24
        high = size + (small * 1.6 if facts else 0) + 16
        at = _room(outline, openings, wide, high)
        if at is None:
            continue
        ground = tag(
            "rect", x=at.real - wide / 2, y=at.imag - high / 2, width=wide, height=high, **paint("sheet")
        )
        base = at + complex(0, size * 0.72 - high / 2 + 6)
        said = ground + words(name, base, size, bold=True)
        if facts:
            said += words(facts, base + complex(0, small * 1.9), small, "ink-2")
        return tag("g", said, class_="label", aria_hidden="true", pointer_events="none")
    return ""


def _grown(chain: Chain, by: float) -> Bounds:
    left, top, right, bottom = bounds(flattened(chain))
    return left - by, top - by, right + by, bottom + by


def _room(outline: list[complex], openings: list[Bounds], wide: float, high: float) -> complex | None:
    """Middle of a free rectangle inside the outline, the one nearest to the outline's own middle."""
    left, top, right, bottom = bounds(outline)
    centre = complex((left + right) / 2, (top + bottom) / 2)
    steps = [(i / 12, j / 12) for i in range(13) for j in range(13)]
    spots = [complex(left + (right - left) * i, top + (bottom - top) * j) for i, j in steps]
    for spot in sorted(spots, key=lambda spot: abs(spot - centre)):
        corner = complex(wide / 2, high / 2)
        box = (
            spot.real - corner.real,
            spot.imag - corner.imag,
            spot.real + corner.real,
            spot.imag + corner.imag,
        )
        if not any(_overlap(box, opening) for opening in openings) and _inside(outline, box):
            return spot
    return None


def _overlap(a: Bounds, b: Bounds) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _inside(outline: list[complex], box: Bounds) -> bool:
    left, top, right, bottom = box
    middle = complex((left + right) / 2, (top + bottom) / 2)
    rim = [complex(x, y) for x in (left, middle.real, right) for y in (top, middle.imag, bottom)]
    return all(contains(outline, point) for point in rim)


def _touches(
    panel: Panel, zoom: _Zoom, places: Mapping[str, Place], thick: float, radius: float
) -> list[str]:
    sides = _clockwise(panel.flat)
    ring = ring_round([zoom.chain(chain) for _, chain, _ in sides], _GAP + thick / 2)
    radii = [radius if corner else 0.0 for _, _, corner in sides]
    asked = [code != "" and places[code].state.mark is not EdgeMark.OPEN for code, _, _ in sides]
    spots = spread(ring.corners, _least(radii, asked), ring.length)
    parts = []
    for index, (code, _, corner) in enumerate(sides):
        if asked[index]:
            parts.append(edge_lane(places[code], _strip(ring, spots, radii, index, thick)))
        if corner:
            parts.append(corner_disc(places[corner], ring.at(spots[index]), radius))
    return parts + [rim_lane(places[rim.code], zoom.chain(rim.curves)) for rim in panel.flat.rims]


def _clockwise(shape: PanelShape) -> list[tuple[str, Chain, str]]:
    """Sides of the outline, clockwise on the screen: edge code, line, code of the corner at its end.

    A code is "" for a fold, and for a place where two parts run on into each other.
    """
    sides = [edge for edge in shape.edges if not edge.closed]
    corners = [_corner_at(shape, edge.curves[-1][3]) for edge in sides]
    if area(shape.outline) > 0:
        return [(edge.code, edge.curves, corner) for edge, corner in zip(sides, corners, strict=True)]
    before = [corners[-1], *corners[:-1]]
    said = [
        (edge.code, turned_round(edge.curves), corner) for edge, corner in zip(sides, before, strict=True)
    ]
    return said[::-1]


def _corner_at(shape: PanelShape, at: complex) -> str:
    return next((node.code for node in shape.nodes if abs(node.at - at) < 0.01), "")


def _least(radii: list[float], asked: list[bool]) -> list[float]:
    """Px that must lie between corner i and the next, for the edge that runs there."""
    count = len(radii)
    said = []
    for index in range(count):
        after = (index + 1) % count
        lane_px = _TOUCH + 14 if asked[after] else 18.0  # round a tip the way is longer than the distance
        said.append(radii[index] + radii[after] + lane_px)
    return said


def _strip(ring: Ring, spots: list[float], radii: list[float], index: int, thick: float) -> Lane:
    """Lane of side `index`, which runs from the corner before it to its own."""
    start, end = spots[index - 1], spots[index]
    if end <= start:
        start -= ring.length
    discs = [(ring.at(start), radii[index - 1] + 6), (ring.at(end), radii[index] + 6)]
    return lane(ring, start, end, thick, discs)
