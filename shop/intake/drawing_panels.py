"""One panel on the sheet: its fill, its edges and corners by state, its name."""

from collections.abc import Mapping
from dataclasses import dataclass

from shop.intake.curves import Chain, flattened, length, middle, moved, shortened
from shop.intake.drawing_sizes import Frame, Size
from shop.intake.hatching import hatch_lines
from shop.intake.shapes import EdgePath, Node, Panel, PanelShape
from shop.intake.sheet_states import EdgeMark, EdgeState, PanelMark, PanelState
from shop.intake.signs import chosen, disc, finder, held, primer_ring, ring, short_dash
from shop.intake.svg import paint, path_data, polyline_data, tag

DOTS = "1.5 3.5"
HATCHED = (PanelMark.WORKING, PanelMark.READY)
SLIM = {"rocker", "pillar", "mirror"}


@dataclass(frozen=True)
class Look:
    """What every part of one drawing shares."""

    size: Size
    frame: Frame
    edges: Mapping[str, EdgeState]
    language: str
    labels: bool = False

    def edge(self, panel: str, code: str, piece: int = 1) -> EdgeState | None:
        return self.edges.get(f"{panel}.{piece}.{code}") or self.edges.get(f"{panel}.{code}")

    def clear_of_name(self, radius: float) -> complex:
        """How far a sign of this radius must rise to stand clear of a name written at the same place."""
        return (self.frame.name_size * 0.9 + 10 + radius) * 1j if self.labels else 0j

    def has_edges(self, panel: str) -> bool:
        return any(key.split(".")[0] == panel for key in self.edges)


def panel_shapes(panel: Panel, state: PanelState, look: Look, here: bool) -> str:
    """Fills, strokes, nodes and signs of one panel, in that order."""
    fills = "".join(_fill(shape, state, look, here) for shape in panel.shapes)
    if state.mark is PanelMark.HELD and not here:
        strokes = "".join(_held_outline(shape, look) for shape in panel.shapes)
    elif is_out(state) or not (look.size.node or look.has_edges(panel.code)):
        strokes = _outlines(panel, state, look, here)
    else:
        strokes = "".join(_strokes(panel, shape, look) for shape in panel.shapes)
    nodes = "".join(_nodes(panel, shape, state, look) for shape in panel.shapes)
    return fills + strokes + nodes


def is_out(state: PanelState) -> bool:
    return state.mark is PanelMark.NOT_IN_JOB or state.chosen is False


def _outlines(panel: Panel, state: PanelState, look: Look, here: bool) -> str:
    """All edges in one path and all folds in another: nothing to tell apart."""
    grey = is_out(state) and not here
    edges: list[str] = []
    folds: list[str] = []
    for shape in panel.shapes:
        for edge in shape.edges:
            is_open = not edge.code or panel.edge(edge.code).finish == "open"
            (folds if is_open else edges).append(_data(edge.curves, look, edge.closed))
    stroke, width = ("line", look.size.grey) if grey else ("ink", look.size.ink)
    said = tag("path", d="".join(edges), **paint(stroke=stroke, width=width))
    if folds:
        said += tag("path", d="".join(folds), **paint(stroke=stroke, width=width, dash=DOTS))
    return said


def panel_surface(panel: Panel, look: Look) -> str:
    """The unseen surface that takes the touch; slim panels get a margin of eight px."""
    data = "".join(_data(shape.outline, look, closed=True) for shape in panel.shapes)
    wide = 16.0 if panel.kind in SLIM else None
    stroke = {"stroke": "transparent", "stroke_width": wide} if wide else {}
    return tag("path", d=data, class_="surface", fill="transparent", pointer_events="all", **stroke)


def panel_signs(panel: Panel, state: PanelState, look: Look) -> str:
    """The square of a held or chosen panel: on its main shape, and on every other that lies apart."""
    draw = held if state.mark is PanelMark.HELD else chosen if state.chosen else None
    if draw is None:
        return ""
    small = look.size.node == 0
    lift = look.clear_of_name(look.size.sign / 2) if panel.sign_at == panel.label.at else 0
    places = [look.frame.px(panel.sign_at) - lift]
    if not small and state.mark is PanelMark.HELD:
        places += [look.frame.px(_centre(shape)) for shape in panel.shapes[1:]]
    return "".join(draw(at, look.size.sign) for at in places)


def _centre(shape: PanelShape) -> complex:
    ends = [c[3] for c in shape.outline]
    across, down = [p.real for p in ends], [p.imag for p in ends]
    return complex((min(across) + max(across)) / 2, (min(down) + max(down)) / 2)


def _fill(shape: PanelShape, state: PanelState, look: Look, here: bool) -> str:
    data = _data(shape.outline, look, closed=True)
    rule = None
    if shape.rims:
        data += "".join(_data(rim.curves, look, closed=True) for rim in shape.rims)
        rule = "evenodd"
    fill = "tape" if here else "solid" if state.mark is PanelMark.SIGNED else "sheet"
    said = tag("path", d=data, fill_rule=rule, **paint(fill, also="fill"))
    if state.mark in HATCHED and not here:
        said += _hatch(shape, state.mark is PanelMark.READY, look)
    return said


def _hatch(shape: PanelShape, both_ways: bool, look: Look) -> str:
    chains = [shape.outline, *(rim.curves for rim in shape.rims)]
    outlines = [flattened(moved(chain, look.frame.px), 8) for chain in chains]
    lines = hatch_lines(outlines, look.size.pitch, both_ways)
    data = "".join(polyline_data(ends) for ends in lines)
    return tag("path", d=data, **paint(stroke="ink", width=look.size.hatch, also="hatch"))


def _data(chain: Chain, look: Look, closed: bool = False) -> str:
    return path_data(moved(chain, look.frame.px), closed)


def _held_outline(shape: PanelShape, look: Look) -> str:
    size = look.size
    rims = "".join(_data(rim.curves, look, closed=True) for rim in shape.rims)
    said = tag("path", d=rims, **paint(stroke="ink", width=size.ink)) if rims else ""
    outline = paint(stroke="ink", width=size.held, dash=size.held_dash, also="held")
    return said + tag("path", d=_data(shape.outline, look, closed=True), **outline)


def _strokes(panel: Panel, shape: PanelShape, look: Look) -> str:
    stroke, width = "ink", look.size.ink
    said = []
    for edge in sorted(shape.edges, key=lambda edge: _rank(look.edge(panel.code, edge.code))):
        if edge.code:
            said.append(_edge(panel, edge, stroke, width, look, bool(shape.nodes)))
        else:
            dots = paint(stroke=stroke, width=width, dash=DOTS, also="fold")
            said.append(tag("path", d=_data(edge.curves, look), **dots))
    return "".join(said)


def _rank(state: EdgeState | None) -> int:
    """The asked edge is drawn last, so that nothing crosses the tape."""
    return 0 if state is None else 2 if state.mark is EdgeMark.ASKED else 1


def _edge(panel: Panel, edge: EdgePath, stroke: str, width: float, look: Look, nodes: bool) -> str:
    state = look.edge(panel.code, edge.code) or EdgeState(_start(panel, edge.code))
    chain = edge.curves
    if nodes and look.size.node and not edge.closed:
        cut = (look.size.node + 2) / look.frame.scale
        chain = shortened(chain, *_cuts(chain, cut)) or chain
    data = _data(chain, look, edge.closed)
    named = {"d": data, "data_panel": panel.code, "data_edge": edge.code}
    size = look.size
    if state.mark is EdgeMark.ASKED:
        said = tag("path", d=data, **paint(stroke="ink", width=size.cased, also="casing"))
        said += tag("path", **named, **paint(stroke="tape", width=size.tape, also="edge"))
    elif state.mark is EdgeMark.ANSWERED:
        said = tag("path", **named, **paint(stroke="ink", width=size.answered, also="edge"))
    elif state.mark is EdgeMark.WRONG:
        said = tag(
            "path", **named, **paint(stroke="ink", width=size.answered, dash=size.wrong_dash, also="edge")
        )
    elif state.mark in (EdgeMark.NOT_HERE, EdgeMark.OPEN):
        said = tag("path", **named, **paint(stroke=stroke, width=width, dash=DOTS, also="edge"))
    else:
        said = tag("path", **named, **paint(stroke=stroke, width=width, also="edge"))
    if state.photo:
        high = max(9.0, size.node * 4.7)
        said += finder(look.frame.px(middle(edge.curves)), high * 1.35, high, max(1.0, size.ink))
    return said


def _cuts(chain: Chain, cut: float) -> tuple[float, float]:
    whole = length(chain)
    return (cut, cut) if whole > 3 * cut else (whole / 3, whole / 3)


def _start(panel: Panel, code: str) -> EdgeMark:
    return EdgeMark.OPEN if panel.edge(code).finish == "open" else EdgeMark.UNANSWERED


def _nodes(panel: Panel, shape: PanelShape, state: PanelState, look: Look) -> str:
    if is_out(state) or not look.size.node:
        return ""
    return "".join(_node(panel, node, state, look) for node in shape.nodes)


def _node(panel: Panel, node: Node, state: PanelState, look: Look) -> str:
    at, r, ink = look.frame.px(node.at), look.size.node, look.size.ink
    said = look.edge(panel.code, node.code) or EdgeState()
    if said.primed:
        drawn = primer_ring(at, r * 1.9, ink)
    elif said.mark is EdgeMark.ASKED:
        drawn = disc(at, r * 1.8, "tape", "ink", ink * 1.5)
    elif said.mark is EdgeMark.ANSWERED:
        drawn = disc(at, r * 1.4)
    elif said.mark is EdgeMark.WRONG:
        drawn = ring(at, r * 1.8, ink * 1.3, dash="3 2")
    elif said.mark in (EdgeMark.NOT_HERE, EdgeMark.OPEN):
        drawn = disc(at, r * 1.5, "sheet") + short_dash(at, r * 2.2, ink)
    else:
        drawn = ring(at, r, ink * 1.3 if state.mark is PanelMark.HELD else ink)
    return tag("g", drawn, class_="node", data_panel=panel.code, data_edge=node.code)
