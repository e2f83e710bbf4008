"""The body sheet: a car unfolded flat, nose up, read from a body document into shapes that can be drawn.

Measures are thousandths of the overall length. On the sheet x runs from the centre line to the right and
y from the nose downwards; the left side of the car lies at negative x.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

Point = tuple[float, float]
Cubic = tuple[Point, Point, Point, Point]
Words = Mapping[str, str]


class BodyError(ValueError):
    """A body document that cannot be drawn; the message names the panel and what to change."""


@dataclass(frozen=True)
class Box:
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Edge:
    """An edge or corner as it stands in the document: what set-out starts from."""

    code: str
    kind: str  # "edge" or "corner"
    title: Words
    finish: str
    return_mm: int | None = None
    primer: bool = False


@dataclass(frozen=True)
class EdgePath:
    """One edge as drawn on one shape: from the middle of one rounded corner to the middle of the next."""

    code: str
    curves: tuple[Cubic, ...]
    closed: bool = False  # the rim of an opening inside the panel


@dataclass(frozen=True)
class Node:
    code: str
    at: Point


@dataclass(frozen=True)
class PanelShape:
    """One closed outline of a panel in one view ("plan", "side", "nose", "tail"; "flat" only when zoomed)."""

    view: str
    outline: tuple[Cubic, ...]
    edges: tuple[EdgePath, ...]
    nodes: tuple[Node, ...]


@dataclass(frozen=True)
class Panel:
    code: str
    kind: str
    title: Words
    material: str
    features: tuple[str, ...]
    cut: str
    cover: str
    nominal_mm: tuple[int, int]
    edges: tuple[Edge, ...]  # edges and corners, in order round the panel
    shapes: tuple[PanelShape, ...]  # on the sheet
    flat: PanelShape  # for the zoomed drawing
    box: Box
    label_at: Point
    leader: tuple[Point, ...] = ()


@dataclass(frozen=True)
class Decor:
    """A thing that is drawn but never asked: glass, wheel, lamp, handle, crease, plate, sensor, flap."""

    kind: str
    curves: tuple[Cubic, ...]
    closed: bool
    panel: str = ""


@dataclass(frozen=True)
class Body:
    name: str
    version: str
    title: Words
    length_mm: int
    panels: tuple[Panel, ...]
    decor: tuple[Decor, ...]
    box: Box

    def panel(self, code: str) -> Panel:
        """KeyError when this body has no such panel."""
        for panel in self.panels:
            if panel.code == code:
                return panel
        raise KeyError(code)


def read_body(document: Mapping[str, Any]) -> Body:
    """Body from a document's dict (as loaded from TOML or JSON). BodyError when it cannot be drawn."""
    raise NotImplementedError


def place(panel: Panel, x_th: int, y_th: int) -> Point:
    """Sheet point of a place given in thousandths of the panel's box."""
    return (panel.box.x + panel.box.width * x_th / 1000, panel.box.y + panel.box.height * y_th / 1000)


def locate(panel: Panel, at: Point) -> tuple[int, int]:
    """Thousandths of the panel's box for a sheet point, held inside the box."""
    x_th = round((at[0] - panel.box.x) * 1000 / panel.box.width)
    y_th = round((at[1] - panel.box.y) * 1000 / panel.box.height)
    return (min(max(x_th, 0), 1000), min(max(y_th, 0), 1000))
