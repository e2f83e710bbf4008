"""Stripes: film of their own, laid over panels or over other film. No body has them, so they are drawn plain."""

import re

from shop.intake.curves import Chain, line
from shop.intake.shapes import Box, Edge, EdgePath, Label, Panel, PanelShape

MOST_STRIPES = 9
_CODE = re.compile(r"stripe-([1-9])")
_LONG, _WIDE = 400.0, 60.0


def is_stripe(code: str) -> bool:
    return bool(_CODE.fullmatch(code))


def stripe(code: str) -> Panel | None:
    """The stripe of this code, or None. How long and wide it is nobody knows before it is measured: 0 × 0 mm.

    Both ends are tucked and cut where they turn in, both sides end on a line.
    """
    found = _CODE.fullmatch(code)
    if not found:
        return None
    number = found[1]
    title = {"en": f"Stripe {number}"}
    return Panel(
        code=code,
        kind="stripe",
        title=title,
        short=title,
        material="metal",
        features=(),
        cut="pre_cut",
        cover="stripe",
        nominal_mm=(0, 0),
        edges=(
            Edge("top", "edge", {"en": "Upper side"}, "short", short={"en": "Upper"}),
            Edge("end", "edge", {"en": "End"}, "tucked"),
            Edge("bottom", "edge", {"en": "Lower side"}, "short", short={"en": "Lower"}),
            Edge("start", "edge", {"en": "Start"}, "tucked"),
        ),
        shapes=(),
        flat=_flat(),
        box=Box(0, 0, _LONG, _WIDE),
        label=Label(complex(_LONG / 2, _WIDE / 2)),
        sign_at=complex(_LONG / 2, _WIDE / 2),
    )


def _flat() -> PanelShape:
    corners = [0j, complex(_LONG, 0), complex(_LONG, _WIDE), complex(0, _WIDE)]
    sides: list[Chain] = [
        (line(one, other),) for one, other in zip(corners, [*corners[1:], corners[0]], strict=True)
    ]
    edges = tuple(
        EdgePath(code, side) for code, side in zip(("top", "end", "bottom", "start"), sides, strict=True)
    )
    return PanelShape("flat", tuple(curve for side in sides for curve in side), edges, ())
