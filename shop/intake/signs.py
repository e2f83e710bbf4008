"""Signs on the sheet, drawn, never typed: tick, exclamation mark, view-finder, primer ring, numbered disc."""

from shop.intake.svg import paint, polyline_data, tag, words


def tick(at: complex, size: float, ink: str = "sheet", width: float | None = None) -> str:
    """A tick about `size` wide, its middle at `at`."""
    points = [at + complex(x, y) * size for x, y in ((-0.46, 0.04), (-0.14, 0.36), (0.46, -0.34))]
    return tag("path", d=polyline_data(points), **paint(stroke=ink, width=width or size * 0.17))


def exclamation(at: complex, height: float, ink: str = "sheet") -> str:
    thick = height * 0.24
    stem = tag(
        "rect",
        x=at.real - thick / 2,
        y=at.imag - height / 2,
        width=thick,
        height=height * 0.62,
        **paint(ink),
    )
    dot = tag(
        "rect",
        x=at.real - thick / 2,
        y=at.imag + height / 2 - thick,
        width=thick,
        height=thick,
        **paint(ink),
    )
    return stem + dot


def square(at: complex, size: float, fill: str = "ink") -> str:
    half = size / 2
    return tag("rect", x=at.real - half, y=at.imag - half, width=size, height=size, **paint(fill))


def held(at: complex, size: float) -> str:
    """The square that marks a held panel."""
    return square(at, size) + exclamation(at, size * 0.58)


def chosen(at: complex, size: float) -> str:
    """The square that marks a panel chosen for the job."""
    return square(at, size) + tick(at, size * 0.6)


def finder(at: complex, width: float, height: float, stroke: float = 1.6, ground: str = "sheet") -> str:
    """Four view-finder brackets round a dot: a photo is kept."""
    w, h, arm = width / 2, height / 2, min(width, height) * 0.24
    back = tag("rect", x=at.real - w, y=at.imag - h, width=width, height=height, **paint(ground))
    w, h = w - stroke * 1.4, h - stroke * 1.4
    lines = []
    for x, y in ((-w, -h), (w, -h), (w, h), (-w, h)):
        corner = at + complex(x, y)
        across, down = complex(-arm if x > 0 else arm, 0), complex(0, -arm if y > 0 else arm)
        lines.append(polyline_data([corner + across, corner, corner + down]))
    brackets = tag("path", d="".join(lines), **paint(stroke="ink", width=stroke))
    return back + brackets + disc(at, max(1.4, height * 0.15))


def disc(at: complex, radius: float, fill: str = "ink", stroke: str | None = None, width: float = 0) -> str:
    return tag("circle", cx=at.real, cy=at.imag, r=radius, **paint(fill, stroke, width or None))


def ring(at: complex, radius: float, width: float, dash: str | None = None, stroke: str = "ink") -> str:
    return tag("circle", cx=at.real, cy=at.imag, r=radius, **paint("sheet", stroke, width, dash))


def primer_ring(at: complex, radius: float, width: float) -> str:
    """Double ring with a dot: primed."""
    return ring(at, radius, width) + disc(at, radius * 0.36)


def short_dash(at: complex, size: float, width: float) -> str:
    return tag("path", d=polyline_data([at - size / 2, at + size / 2]), **paint(stroke="ink", width=width))


def numbered(at: complex, text: str, radius: float) -> str:
    """An ink disc with a number; the sheet-coloured rim keeps it off the strokes under it."""
    size = radius * (1.15 if len(text) < 2 else 0.95)
    return disc(at, radius, "ink", "sheet", 1.5) + words(
        text, at + complex(0, size * 0.35), size, "sheet", bold=True
    )


def damage(at: complex, text: str, radius: float) -> str:
    """A cross in a ring, its number beside it."""
    arm = radius * 0.5
    cross = polyline_data([at + complex(-arm, -arm), at + complex(arm, arm)]) + polyline_data(
        [at + complex(-arm, arm), at + complex(arm, -arm)]
    )
    said = ring(at, radius, 2) + tag("path", d=cross, **paint(stroke="ink", width=2.0))
    if not text:
        return said
    beside = at + complex(radius * 1.5, radius * 0.5)
    ground = tag(
        "rect",
        x=beside.real - 2,
        y=beside.imag - radius * 1.1,
        width=radius * (0.5 + 0.8 * len(text)),
        height=radius * 1.4,
        **paint("sheet"),
    )
    return ground + said + words(text, beside, radius * 1.4, bold=True, anchor="start")
