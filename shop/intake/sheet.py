"""Reads a body document into a sheet: unfolds its views, mirrors the left side, keeps panels off their lines."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from shop.intake.curves import Chain, arc, bounds, flattened, moved, read_path, turned_round
from shop.intake.inset import inset
from shop.intake.mirror import decor_mirrored, mirror, other_side, panel_mirrored, shape_mirrored
from shop.intake.shapes import (
    Body,
    BodyError,
    Box,
    Decor,
    Edge,
    EdgePath,
    Label,
    Node,
    Panel,
    PanelShape,
    Wheel,
)

__all__ = ["Body", "BodyError", "Panel", "read_body"]

Document = Mapping[str, Any]
Where = Callable[[complex], complex]

_JOIN = 0.6  # thousandths: parts of an outline must meet this closely


def read_body(document: Document) -> Body:
    """Body from a document's dict (as loaded from TOML or JSON). BodyError when it cannot be drawn."""
    try:
        return _Reader(document).body()
    except KeyError as missing:
        raise BodyError(f"The body document lacks {missing}.") from missing


def _box(chains: Iterable[Chain]) -> Box:
    left, top, right, bottom = bounds(point for chain in chains for point in flattened(chain))
    return Box(left, top, right - left, bottom - top)


class _Reader:
    def __init__(self, document: Document) -> None:
        self.document = document
        per_mm = 1000 / int(document["length_mm"])
        self.per_mm = per_mm
        self.gap, self.radius = document["gap_mm"] * per_mm, document["corner_mm"] * per_mm
        views = document["views"]
        self.side, self.nose, self.tail = views["side_fold"], views["nose_fold"], views["tail_fold"]

    def body(self) -> Body:
        document = self.document
        panels = [panel for entry in document["panels"] for panel in self._panels(entry)]
        codes = [panel.code for panel in panels]
        if len(set(codes)) < len(codes):
            raise BodyError("Two panels share a code.")
        wheels = self._wheels()
        rounds = [arc(wheel.centre, wheel.tyre, 0, 6.2832) for wheel in wheels]
        shapes = [shape.outline for panel in panels for shape in panel.shapes]
        return Body(
            name=document["name"],
            version=str(document["version"]),
            title=document["title"],
            length_mm=document["length_mm"],
            panels=tuple(panels),
            decor=tuple(piece for entry in document.get("decor", []) for piece in self._decor(entry)),
            wheels=wheels,
            axles=tuple(document["wheels"]["axles"]),
            box=_box([*shapes, *rounds]),
        )

    def _wheels(self) -> tuple[Wheel, ...]:
        wheels = self.document["wheels"]
        where = self._where("side")
        left = [where(complex(axle, wheels["height"])) for axle in wheels["axles"]]
        tyre, rim = wheels["tyre_mm"] * self.per_mm, wheels["rim_mm"] * self.per_mm
        return tuple(Wheel(at, tyre, rim) for at in [*left, *map(mirror, left)])

    def _where(self, view: str) -> Where:
        """From a view's own measures to the sheet; half outlines and sides land on the left."""
        if view == "plan":
            return lambda at: complex(-at.imag, at.real)
        if view == "side":
            return lambda at: complex(at.imag - self.side, at.real)
        if view == "nose":
            return lambda at: complex(-at.real, at.imag - self.nose)
        if view == "tail":
            return lambda at: complex(-at.real, self.tail - at.imag)
        if view == "flat":
            return lambda at: complex(-at.real, at.imag)
        raise BodyError(f"There is no view named {view}.")

    def _panels(self, entry: Document) -> list[Panel]:
        mirrored = entry.get("mirror")
        shapes: list[PanelShape] = []
        for drawn in entry["shapes"]:
            shape = self._shape(entry["code"], drawn)
            shapes.append(shape)
            if not drawn.get("half") and not mirrored:
                shapes.append(shape_mirrored(shape, swap=True))
        left = self._panel(entry, shapes)
        return [left, panel_mirrored(left, mirrored)] if mirrored else [left]

    def _panel(self, entry: Document, shapes: Sequence[PanelShape]) -> Panel:
        edges = tuple(_edge(edge) for edge in entry["edges"])
        _check_codes(entry["code"], edges, shapes)
        on_sheet = tuple(shape for shape in shapes if shape.view != "flat")
        box = _box(shape.outline for shape in on_sheet)
        width, height = entry["nominal_mm"]
        label = _label(entry.get("label", {}), box.centre)
        return Panel(
            code=entry["code"],
            kind=entry["kind"],
            title=entry["title"],
            short=entry.get("short", entry["title"]),
            material=entry["material"],
            features=tuple(entry["features"]),
            cut=entry["cut"],
            cover=entry["cover"],
            nominal_mm=(width, height),
            edges=edges,
            shapes=on_sheet,
            flat=next((shape for shape in shapes if shape.view == "flat"), on_sheet[0]),
            box=box,
            label=label,
            sign_at=_point(entry["sign"]) if "sign" in entry else label.at,
        )

    def _shape(self, code: str, drawn: Document) -> PanelShape:
        where = self._where(drawn["view"])
        parts = [(part.get("edge", ""), moved(_path(code, part), where)) for part in drawn["outline"]]
        corners = [part.get("corner", "") for part in drawn["outline"]]
        if drawn.get("half"):
            parts, corners = _whole(code, parts, corners)
        _check_closed(code, [chain for _, chain in parts])
        sides, middles = inset([chain for _, chain in parts], self.gap, self.radius)
        edges = [EdgePath(part[0], side) for part, side in zip(parts, sides, strict=True)]
        rims = [
            EdgePath(rim["edge"], _half_closed(_path(code, rim), where), True)
            for rim in drawn.get("rims", [])
        ]
        nodes = [Node(corner, at) for corner, at in zip(corners, middles, strict=True) if corner]
        outline = tuple(c for side in sides for c in side)
        return PanelShape(drawn["view"], outline, (*edges, *rims), tuple(nodes))

    def _decor(self, entry: Document) -> list[Decor]:
        where = self._where(entry["view"])
        panel = entry.get("panel", "")
        if "circle" in entry:
            curves, closed = self._circle(entry["circle"], where), True
        elif entry.get("half"):
            curves, closed = _half_closed(_path("decor", entry), where), True
            if entry["kind"] == "slat":  # an open line across: from the far end over the centre line
                middle = len(curves) // 2
                curves, closed = curves[middle:] + curves[:middle], False
        else:
            curves, closed = moved(_path("decor", entry), where), bool(entry.get("closed"))
        glint = where(_point(entry["glint"])) if "glint" in entry else None
        cup = self._circle(entry["cup"], where) if "cup" in entry else ()
        piece = Decor(entry["kind"], entry["view"], curves, closed, panel, glint, cup)
        if entry.get("half"):
            return [piece]
        other = decor_mirrored(piece)
        if "side" in entry:
            return [other if entry["side"] == "right" else piece]
        return [piece, other]

    def _circle(self, text: str, where: Where) -> Chain:
        """Circle or ellipse "x,y,radius[,radius]" in a view's own measures."""
        x, y, *radii = (float(word) for word in text.split(","))
        across, up = radii[0], radii[-1]
        unit = arc(0, 1, 0, 6.283185307)
        return moved(unit, lambda at: where(complex(x + at.real * across, y + at.imag * up)))


def _point(text: str) -> complex:
    x, y = text.split(",")
    return complex(float(x), float(y))


def _path(code: str, entry: Document) -> Chain:
    try:
        return read_path(entry["path"])
    except ValueError as wrong:
        raise BodyError(f"Panel {code}: {wrong}.") from wrong


def _edge(entry: Document) -> Edge:
    return Edge(
        code=entry["code"],
        kind=entry["kind"],
        title=entry["title"],
        finish=entry["finish"],
        return_mm=entry.get("return_mm"),
        primer=bool(entry.get("primer", False)),
        short=entry.get("short", {}),
    )


def _label(entry: Document, centre: complex) -> Label:
    return Label(
        at=_point(entry["at"]) if "at" in entry else centre,
        anchor=entry.get("anchor", "middle"),
        leader=read_path(entry["leader"]) if "leader" in entry else (),
        shown=entry.get("shown", True),
    )


Parts = list[tuple[str, Chain]]


def _whole(code: str, parts: Parts, corners: list[str]) -> tuple[Parts, list[str]]:
    """A half outline, from the centre line to the centre line, joined to its mirror image."""
    if abs(parts[0][1][0][0].real) > _JOIN or abs(parts[-1][1][-1][3].real) > _JOIN:
        raise BodyError(f"Panel {code}: a half outline must start and end on the centre line.")
    mirrored = [(other_side(edge), turned_round(moved(chain, mirror))) for edge, chain in reversed(parts)]
    first = (parts[0][0], mirrored[-1][1] + parts[0][1])
    if len(parts) == 1:
        raise BodyError(f"Panel {code}: a half outline needs a part on each side of its corners.")
    last = (parts[-1][0], parts[-1][1] + mirrored[0][1])
    opposite = [other_side(corner) for corner in reversed(corners[:-1])]
    return [first, *parts[1:-1], last, *mirrored[1:-1]], [*corners[:-1], *opposite]


def _half_closed(half: Chain, where: Where) -> Chain:
    chain = moved(half, where)
    return chain + turned_round(moved(chain, mirror))


def _check_closed(code: str, chains: Sequence[Chain]) -> None:
    for before, after in zip(chains, [*chains[1:], chains[0]], strict=True):
        if abs(before[-1][3] - after[0][0]) > _JOIN:
            raise BodyError(f"Panel {code}: its outline does not close near {before[-1][3]:.0f}.")


def _check_codes(panel: str, edges: Sequence[Edge], shapes: Sequence[PanelShape]) -> None:
    named = {edge.code for edge in edges}
    if len(named) < len(edges):
        raise BodyError(f"Panel {panel}: two edges or corners share a code.")
    drawn = {part.code for shape in shapes for part in shape.edges if part.code}
    drawn |= {node.code for shape in shapes for node in shape.nodes}
    if drawn != named:
        raise BodyError(f"Panel {panel}: listed and drawn edges differ: {', '.join(sorted(drawn ^ named))}.")
