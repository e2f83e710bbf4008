"""The body sheet: a car unfolded flat, nose up, as shapes that can be drawn and touched.

Measures are thousandths of the overall length. A point is a complex number: on the sheet x runs from the
centre line to the right and y from the nose downwards; the left side of the car lies at negative x.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from shop.intake.curves import Chain, contains, flattened

Words = Mapping[str, str]


class BodyError(ValueError):
    """A body document that cannot be drawn; the message names the panel and what to change."""


@dataclass(frozen=True)
class Box:
    x: float
    y: float
    width: float
    height: float

    @property
    def centre(self) -> complex:
        return complex(self.x + self.width / 2, self.y + self.height / 2)


@dataclass(frozen=True)
class Edge:
    """An edge or corner as it stands in the document: what set-out starts from."""

    code: str
    kind: str  # "edge" or "corner"
    title: Words
    finish: str
    return_mm: int | None = None
    primer: bool = False
    short: Words = field(default_factory=dict)  # for a lane too short for the title


@dataclass(frozen=True)
class EdgePath:
    """One edge as drawn on one shape: from the middle of one rounded corner to the middle of the next.

    Without a code it is a fold of the drawing: the body has no break there. `closed`: the rim of an opening
    inside the panel.
    """

    code: str
    curves: Chain
    closed: bool = False


@dataclass(frozen=True)
class Node:
    code: str
    at: complex


@dataclass(frozen=True)
class PanelShape:
    """One closed outline of a panel in one view: "plan", "side", "nose", "tail", or "flat" when zoomed."""

    view: str
    outline: Chain
    edges: tuple[EdgePath, ...]
    nodes: tuple[Node, ...]

    @property
    def rims(self) -> tuple[EdgePath, ...]:
        return tuple(edge for edge in self.edges if edge.closed)


@dataclass(frozen=True)
class Label:
    """Where a panel's name stands on the sheet, and the line that leads from it to the panel."""

    at: complex
    anchor: str = "middle"
    leader: Chain = ()
    shown: bool = True


@dataclass(frozen=True)
class Panel:
    code: str
    kind: str
    title: Words
    short: Words  # where the drawing itself says which side it is
    material: str
    features: tuple[str, ...]
    cut: str
    cover: str
    nominal_mm: tuple[int, int]
    edges: tuple[Edge, ...]  # edges and corners, in order round the panel
    shapes: tuple[PanelShape, ...]  # on the sheet
    flat: PanelShape  # for the zoomed drawing
    box: Box
    label: Label
    sign_at: complex  # where the mark of a held panel stands

    @property
    def label_at(self) -> complex:
        return self.label.at

    def edge(self, code: str) -> Edge:
        """KeyError when the panel has no such edge or corner."""
        for edge in self.edges:
            if edge.code == code:
                return edge
        raise KeyError(code)


@dataclass(frozen=True)
class Decor:
    """A thing that is drawn but never asked: glass, lamp, handle, crease, plate, sensor, flap."""

    kind: str
    view: str
    curves: Chain
    closed: bool
    panel: str = ""
    glint: complex | None = None
    cup: Chain = ()  # the hollow behind a handle


@dataclass(frozen=True)
class Wheel:
    centre: complex
    tyre: float
    rim: float


@dataclass(frozen=True)
class Body:
    name: str
    version: str
    title: Words
    length_mm: int
    panels: tuple[Panel, ...]
    decor: tuple[Decor, ...]
    wheels: tuple[Wheel, ...]
    axles: tuple[float, ...]
    box: Box

    def panel(self, code: str) -> Panel:
        """KeyError when this body has no such panel."""
        for panel in self.panels:
            if panel.code == code:
                return panel
        raise KeyError(code)


def say(words: Words, language: str = "en") -> str:
    """The words in this language, else in English, else in any there is."""
    return words.get(language) or words.get("en") or next(iter(words.values()), "")


def place(panel: Panel, x_th: int, y_th: int) -> complex:
    """Sheet point of a place given in thousandths of the panel's box."""
    return complex(panel.box.x + panel.box.width * x_th / 1000, panel.box.y + panel.box.height * y_th / 1000)


def locate(panel: Panel, at: complex) -> tuple[int, int]:
    """Thousandths of the panel's box for a sheet point, held inside the box."""
    x_th = round((at.real - panel.box.x) * 1000 / panel.box.width)
    y_th = round((at.imag - panel.box.y) * 1000 / panel.box.height)
    return min(max(x_th, 0), 1000), min(max(y_th, 0), 1000)


def panel_at(body: Body, at: complex) -> str | None:
    """Code of the panel drawn at a sheet point, or None."""
    for panel in body.panels:
        if any(contains(flattened(shape.outline), at) for shape in panel.shapes):
            return panel.code
    return None
