"""SVG text: tags, numbers, paths and paints.

Every paint is a class for the screen, where a theme colours it, and the light theme's colour as presentation
attribute, for paper. Neither needs a style attribute, which the content policy forbids.
"""

from collections.abc import Iterable
from html import escape

from shop.intake.curves import Chain

PAINTS = {
    "sheet": "#FFFFFF",
    "ink": "#14202B",
    "ink-2": "#44515C",
    "line": "#858F97",
    "solid": "#465866",
    "tape": "#FFC629",
    "tape-ink": "#14202B",
}


def number(value: float) -> str:
    """At most one decimal: a tenth of a pixel is finer than any stroke."""
    text = f"{value:.1f}"
    text = text.removesuffix(".0")
    return "0" if text == "-0" else text


def text_of(text: str) -> str:
    """Text made safe to stand between tags."""
    return escape(text, quote=False)


def tag(name: str, *content: str, **attributes: object) -> str:
    """One element. An attribute that is None or False is left out; `_` stands for `-`, `class_` for class."""
    said = []
    for key, value in attributes.items():
        if value is None or value is False:
            continue
        key = key.rstrip("_").replace("_", "-")
        text = number(value) if isinstance(value, float) else str(value)
        said.append(f' {key}="{escape(text)}"')
    inner = "".join(content)
    return f"<{name}{''.join(said)}>{inner}</{name}>" if inner else f"<{name}{''.join(said)}/>"


def paint(
    fill: str | None = None,
    stroke: str | None = None,
    width: float | None = None,
    dash: str | None = None,
    also: str = "",
) -> dict[str, object]:
    """Attributes that fill and stroke with named paints. No fill given means none."""
    classes = [also] if also else []
    classes += [f"fill-{fill}"] if fill else []
    classes += [f"stroke-{stroke}"] if stroke else []
    return {
        "class_": " ".join(classes) or None,
        "fill": PAINTS[fill] if fill else "none",
        "stroke": PAINTS[stroke] if stroke else None,
        "stroke_width": width if stroke else None,
        "stroke_dasharray": dash if stroke else None,
    }


def path_data(chain: Chain, closed: bool = False) -> str:
    """Path data of a chain already in pixels; straight curves become lines.

    Written in steps from the last point, counted in whole tenths so that they never drift: a third shorter.
    """
    if not chain:
        return ""
    at = _tenths(chain[0][0])
    said = [f"M{at[0] / 10:g},{at[1] / 10:g}"]
    for c in chain:
        straight = _is_straight(c[0], c[1], c[3]) and _is_straight(c[0], c[2], c[3])
        ends = [_tenths(point) for point in (c[3:] if straight else c[1:])]
        steps = [(x - at[0], y - at[1]) for x, y in ends]
        said.append(("l" if straight else "c") + " ".join(f"{x / 10:g},{y / 10:g}" for x, y in steps))
        at = ends[-1]
    return "".join(said) + ("Z" if closed else "")


def _tenths(point: complex) -> tuple[int, int]:
    return round(point.real * 10), round(point.imag * 10)


def polyline_data(points: Iterable[complex], closed: bool = False) -> str:
    return "M" + "L".join(_pair(point) for point in points) + ("Z" if closed else "")


def _pair(point: complex) -> str:
    return f"{number(point.real)},{number(point.imag)}"


def _is_straight(a: complex, b: complex, c: complex) -> bool:
    along = c - a
    return bool(abs(along)) and abs((along.conjugate() * (b - a)).imag) < 0.06 * abs(along)


_WIDE, _NARROW = set("mwMW@%—"), set("iljtfrI.,:;'!|()[]- ·")


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Width of a line of text in px, near enough to knock it out of a hatch or to see whether it fits."""
    ems = sum(0.86 if c in _WIDE else 0.31 if c in _NARROW else 0.64 if c.isupper() else 0.55 for c in text)
    return ems * size * (1.05 if bold else 1)


def words(
    text: str, at: complex, size: float, fill: str = "ink", bold: bool = False, anchor: str = "middle"
) -> str:
    """One line of text, its baseline at `at`."""
    return tag(
        "text",
        text_of(text),
        x=at.real,
        y=at.imag,
        font_size=size,
        font_weight="700" if bold else None,
        font_family="Fira Sans, sans-serif",
        text_anchor=anchor if anchor != "start" else None,
        **paint(fill, also="words"),
    )
