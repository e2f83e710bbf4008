"""The other side of the car: codes and shapes seen in a mirror that stands on the centre line."""

from collections.abc import Mapping
from typing import Any

from shop.intake.curves import moved
from shop.intake.shapes import Box, Decor, EdgePath, Label, Node, Panel, PanelShape

Document = Mapping[str, Any]


def other_side(code: str) -> str:
    """The code seen in the mirror: door-front-left, door-front-right."""
    words = {"left": "right", "right": "left"}
    return "-".join(words.get(word, word) for word in code.split("-"))


def mirror(at: complex) -> complex:
    return complex(-at.real, at.imag)


def shape_mirrored(shape: PanelShape, swap: bool = False) -> PanelShape:
    """`swap`: the shape belongs to the same panel, so its edges on the other side have the other code."""

    def code(of: str) -> str:
        return other_side(of) if swap else of

    return PanelShape(
        shape.view,
        moved(shape.outline, mirror),
        tuple(EdgePath(code(edge.code), moved(edge.curves, mirror), edge.closed) for edge in shape.edges),
        tuple(Node(code(node.code), mirror(node.at)) for node in shape.nodes),
    )


def panel_mirrored(left: Panel, entry: Document) -> Panel:
    box = left.box
    anchor = {"start": "end", "end": "start"}.get(left.label.anchor, left.label.anchor)
    return Panel(
        code=entry["code"],
        kind=left.kind,
        title=entry["title"],
        short=entry.get("short", left.short),
        material=left.material,
        features=tuple(entry.get("features", left.features)),
        cut=left.cut,
        cover=left.cover,
        nominal_mm=left.nominal_mm,
        edges=left.edges,
        shapes=tuple(shape_mirrored(shape) for shape in left.shapes),
        flat=shape_mirrored(left.flat),
        box=Box(-box.x - box.width, box.y, box.width, box.height),
        label=Label(mirror(left.label.at), anchor, moved(left.label.leader, mirror), left.label.shown),
        sign_at=mirror(left.sign_at),
    )


def decor_mirrored(piece: Decor) -> Decor:
    return Decor(
        piece.kind,
        piece.view,
        moved(piece.curves, mirror),
        piece.closed,
        other_side(piece.panel),
        mirror(piece.glint) if piece.glint is not None else None,
        moved(piece.cup, mirror),
    )
