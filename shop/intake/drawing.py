"""The whole car as SVG text: classes for the screen, presentation attributes for paper."""

from collections.abc import Callable, Mapping, Sequence

from shop.intake.curves import middle
from shop.intake.drawing_decor import centre_lines, piece_of_decor, place_names, wheel
from shop.intake.drawing_labels import leader, panel_label
from shop.intake.drawing_panels import Look, panel_shapes, panel_signs, panel_surface
from shop.intake.drawing_sizes import SIZES, Frame
from shop.intake.shapes import Body, Panel, place, say
from shop.intake.sheet_states import EdgeMark, EdgeState, Mark, PanelMark, PanelState
from shop.intake.signs import damage, numbered
from shop.intake.svg import tag, text_of
from shop.intake.zoom import draw_panel

__all__ = ["EdgeMark", "EdgeState", "Mark", "PanelMark", "PanelState", "draw_panel", "draw_sheet"]

Links = Mapping[str, str] | Callable[[str], str]

_OUT = PanelState(PanelMark.NOT_IN_JOB)


def draw_sheet(
    body: Body,
    *,
    panels: Mapping[str, PanelState],
    edges: Mapping[str, EdgeState] | None = None,
    marks: Sequence[Mark] = (),
    size: str = "large",
    width: int | None = None,
    links: Links | None = None,
    selectable: bool = False,
    labels: bool = False,
    here: str = "",
    ids: str = "",
    title: str = "",
    language: str = "en",
) -> str:
    """The whole car, nose up.

    `panels`: by panel code; a panel that is missing counts as not in the job. `edges`: by "hood.1.front" or
    "hood.front". `size`: "large" (600 px and more), "medium", "small" (under 300 px), "print" (for papers);
    `width` in CSS px, so that strokes and hatches keep their measure. `links`: panel code to address ("" for
    none). `selectable`: panels are check boxes (set-out). `here`: panel code filled with tape (locator).
    `ids`: id of the drawing. Each panel's group carries `data-panel` and
    `data-box` ("x y width height" in the drawing's own px), so that a touch can be told in thousandths of it.
    """
    measures = SIZES[size]
    frame = Frame.around(body, measures, width or measures.width, labels)
    look = Look(measures, frame, edges or {}, language, labels)
    touched = bool(links) or selectable
    name = title or say(body.title, language)
    parts = [centre_lines(body, look)]
    parts += [wheel(each, look) for each in body.wheels]
    parts += [piece_of_decor(piece, look) for piece in body.decor if not piece.panel and piece.view != "flat"]
    for panel in body.panels:
        state = panels.get(panel.code, _OUT)
        drawn = _panel(body, panel, state, look, here == panel.code)
        parts.append(_touched(panel, state, look, drawn, links, selectable))
    if labels:
        parts.append(place_names(body, look))
        parts += [panel_label(body, panel, panels.get(panel.code, _OUT), look) for panel in body.panels]
    parts += _marks(marks, body, look)
    return tag(
        "svg",
        tag("title", text_of(name)) if not touched else "",
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        id=ids or None,
        class_=f"body-sheet body-sheet-{size}",
        viewBox=f"0 0 {frame.width} {frame.height}",
        width=frame.width,
        height=frame.height,
        role="group" if touched else "img",
        aria_label=name,
        data_body=f"{body.name} {body.version}",
    )


def _panel(body: Body, panel: Panel, state: PanelState, look: Look, here: bool) -> str:
    ground = "solid" if state.mark is PanelMark.SIGNED and not here else "sheet"
    decor = [
        piece_of_decor(piece, look, ground)
        for piece in body.decor
        if piece.panel == panel.code and piece.view != "flat"
    ]
    return panel_shapes(panel, state, look, here) + "".join(decor) + panel_signs(panel, state, look)


def _touched(
    panel: Panel, state: PanelState, look: Look, drawn: str, links: Links | None, selectable: bool
) -> str:
    """The panel's group: a link, a check box, or neither."""
    name = f"{say(panel.title, look.language)}: {state.words}"
    corner = look.frame.px(complex(panel.box.x, panel.box.y))
    box = (corner.real, corner.imag, panel.box.width * look.frame.scale, panel.box.height * look.frame.scale)
    shared = {
        "class_": f"panel panel-{state.mark.value.replace('_', '-')}",
        "data_panel": panel.code,
        "data_box": " ".join(f"{value:.1f}" for value in box),
    }
    address = _address(links, panel.code)
    if selectable:
        checked = "true" if state.chosen else "false"
        drawn += panel_surface(panel, look)
        return tag("g", drawn, **shared, role="checkbox", aria_checked=checked, tabindex=0, aria_label=name)
    if address:
        return tag("a", drawn + panel_surface(panel, look), **shared, href=address, aria_label=name)
    return tag("g", drawn, **shared)


def _address(links: Links | None, code: str) -> str:
    if links is None:
        return ""
    return links(code) if callable(links) else links.get(code, "")


def _marks(marks: Sequence[Mark], body: Body, look: Look) -> list[str]:
    drawn = []
    taken: dict[tuple[str, str], int] = {}
    known = {panel.code: panel for panel in body.panels}
    for mark in marks:
        if mark.panel not in known:  # a stripe has no place of its own on the sheet
            continue
        panel = known[mark.panel]
        at = _mark_at(mark, panel, look)
        if mark.x_th is None and not mark.edge:
            drawn.append(leader(panel, look))
        if mark.x_th is None:
            before = taken.get((mark.panel, mark.edge), 0)
            taken[mark.panel, mark.edge] = before + 1
            at += before * look.size.disc * 2.2
        drawn.append(_mark(mark, at, look))
    return drawn


def _mark_at(mark: Mark, panel: Panel, look: Look) -> complex:
    px = look.frame.px
    if mark.x_th is not None and mark.y_th is not None:
        return px(place(panel, mark.x_th, mark.y_th))
    for shape in panel.shapes:
        for node in shape.nodes:
            if node.code == mark.edge:
                return px(node.at)
        for edge in shape.edges:
            if mark.edge and edge.code == mark.edge:
                return px(middle(edge.curves))
    if panel.label.leader:
        named = look.labels and look.frame.width >= 600
        return px(middle(panel.label.leader) if named else panel.label.leader[0][0])
    return px(panel.label.at) - look.clear_of_name(look.size.disc)


def _mark(mark: Mark, at: complex, look: Look) -> str:
    said = f"{mark.number}. {mark.title}" if mark.title else str(mark.number)
    if mark.kind == "damage":
        drawn = damage(at, str(mark.number), look.size.disc * 0.7)
    else:
        drawn = numbered(at, str(mark.number), look.size.disc)
    shared = {"class_": f"mark mark-{mark.kind}", "data_mark": mark.number, "aria_label": said}
    if mark.href:
        return tag("a", drawn, **shared, href=mark.href)
    return tag("g", drawn, **shared, role="img")
