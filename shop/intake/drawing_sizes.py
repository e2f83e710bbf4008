"""Measures of the sheet at its four sizes, in CSS px, and the frame that carries thousandths to pixels."""

from dataclasses import dataclass

from shop.intake.shapes import Body


@dataclass(frozen=True)
class Size:
    """Stroke widths, dashes and radii of one size of the sheet. A node radius of 0: no nodes."""

    width: int
    ink: float
    grey: float
    decor: float
    node: float
    answered: float
    tape: float
    cased: float
    wrong_dash: str
    held: float
    held_dash: str
    pitch: float
    hatch: float
    disc: float
    sign: float
    pad: float = 8.0
    spokes_from: int = 0  # px of width from which wheels have spokes
    axles: bool = False


SIZES = {
    "large": Size(
        width=720, ink=1.7, grey=1.1, decor=1.0, node=3.4, answered=5.0, tape=6.0, cased=10.0, wrong_dash="8 5",
        held=4.4, held_dash="9 5", pitch=8.0, hatch=1.2, disc=13.0, sign=20.0, axles=True,
    ),
    "medium": Size(
        width=420, ink=1.5, grey=0.9, decor=0.8, node=2.6, answered=3.6, tape=4.0, cased=7.0, wrong_dash="6 4",
        held=3.2, held_dash="6.5 3.5", pitch=6.5, hatch=1.0, disc=11.0, sign=15.0, pad=5.0, spokes_from=400,
    ),
    "small": Size(
        width=240, ink=1.0, grey=0.8, decor=0.7, node=0.0, answered=2.4, tape=3.0, cased=5.0, wrong_dash="4 2.5",
        held=2.4, held_dash="4.5 2.5", pitch=6.0, hatch=0.9, disc=9.0, sign=11.0, pad=3.0, spokes_from=10_000,
    ),
    "print": Size(
        width=330, ink=1.1, grey=0.7, decor=0.6, node=0.0, answered=2.6, tape=3.0, cased=5.0, wrong_dash="4.5 3",
        held=2.6, held_dash="5 3", pitch=6.0, hatch=0.8, disc=10.0, sign=13.0, pad=4.0,
    ),
}  # fmt: skip


@dataclass(frozen=True)
class Frame:
    scale: float  # px per thousandth of length
    origin: complex  # px, where the sheet's zero lies
    width: int
    height: int

    @property
    def name_size(self) -> float:
        """Size of a panel's name: 17 px where there is room for it."""
        return 17.0 if self.width >= 1000 else 15.0

    @classmethod
    def around(cls, body: Body, size: Size, width: int, labels: bool) -> "Frame":
        """Frame of a drawing `width` px wide; with labels there is room for the words at nose and tail."""
        scale = (width - 2 * size.pad) / body.box.width
        above = size.pad + (28 if labels else 0)
        below = size.pad + (32 if labels else 0)
        height = round(body.box.height * scale + above + below)
        origin = complex(size.pad - body.box.x * scale, above - body.box.y * scale)
        return cls(scale, origin, width, height)

    def px(self, at: complex) -> complex:
        return self.origin + at * self.scale
