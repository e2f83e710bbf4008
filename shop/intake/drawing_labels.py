"""Names on the sheet: inside a panel where it has room for them, beside it with a leader where it has none."""

from shop.intake.curves import bounds, contains, flattened, moved
from shop.intake.drawing_panels import HATCHED, SLIM, Look, is_out
from shop.intake.shapes import Body, Panel, say
from shop.intake.sheet_states import PanelMark, PanelState
from shop.intake.svg import paint, path_data, tag, text_width, words

Lines = list[tuple[str, float, bool]]  # text, size in px, bold
Bounds = tuple[float, float, float, float]


def panel_label(body: Body, panel: Panel, state: PanelState, look: Look) -> str:
    """The panel's name and, when it is in the job, its state in words under it.

    Left out where it would run over the panel's border: the list beside the drawing says it too.
    """
    lines = _lines(body, panel, state, look)
    if not lines:
        return ""
    label, out = panel.label, is_out(state)
    at = look.frame.px(label.at)
    solid = state.mark is PanelMark.SIGNED and not label.leader
    said = leader(panel, look, "line" if out else "ink")
    if not label.leader and not solid:
        left, top, right, bottom = _bounds(lines, at, look, 7 if state.mark in HATCHED else 2)
        said = tag("rect", x=left, y=top, width=right - left, height=bottom - top, **paint("sheet"))
    for index, (text, high, bold) in enumerate(lines):
        base = at + complex(0, index * look.frame.name_size * 1.3)
        said += words(text, base, high, "ink-2" if out else "sheet" if solid else "ink", bold, label.anchor)
    return tag("g", said, class_="label", aria_hidden="true", pointer_events="none")


def _lines(body: Body, panel: Panel, state: PanelState, look: Look) -> Lines:
    """Name and state, the name alone, or nothing, as there is room."""
    size, width, out = look.frame.name_size, look.frame.width, is_out(state)
    if not panel.label.shown or (width < 800 and panel.kind in SLIM) or (width < 600 and out):
        return []
    lines: Lines = [(say(panel.short, look.language), size - 1 if out else size, not out)]
    full = lines if out else [*lines, (state.words, size - 2, False)]
    if panel.label.leader:
        roomy = width >= (1000 if panel.kind in SLIM else 600)
        return full if roomy else lines if width >= 600 else []
    return next((said for said in (full, lines) if _fits(body, panel, said, look)), [])


def _bounds(lines: Lines, at: complex, look: Look, margin: float) -> Bounds:
    wide = max(text_width(*line) for line in lines)
    size = look.frame.name_size
    top = at.imag - size * 0.75
    bottom = at.imag + size * (1.3 * (len(lines) - 1) + 0.25)
    return at.real - wide / 2 - margin, top - margin, at.real + wide / 2 + margin, bottom + margin


def _fits(body: Body, panel: Panel, lines: Lines, look: Look) -> bool:
    """True when the words stand inside one shape of the panel, clear of its openings and its plate."""
    left, top, right, bottom = box = _bounds(lines, look.frame.px(panel.label.at), look, 3)
    corners = [complex(x, y) for x in (left, (left + right) / 2, right) for y in (top, bottom)]
    plates = [
        p.curves for p in body.decor if p.kind == "plate" and p.panel == panel.code and p.view != "flat"
    ]
    for shape in panel.shapes:
        outline = flattened(moved(shape.outline, look.frame.px), 8)
        if all(contains(outline, corner) for corner in corners):
            holes = [*plates, *(rim.curves for rim in shape.rims)]
            return not any(_overlap(box, bounds(map(look.frame.px, flattened(hole)))) for hole in holes)
    return False


def _overlap(a: Bounds, b: Bounds) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def leader(panel: Panel, look: Look, stroke: str = "ink") -> str:
    """The thin line from a name outside the panel to the panel."""
    if not panel.label.leader:
        return ""
    data = path_data(moved(panel.label.leader, look.frame.px))
    return tag("path", d=data, **paint(stroke=stroke, width=1.0))
