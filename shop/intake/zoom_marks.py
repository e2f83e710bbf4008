"""Places on a zoomed panel: in thousandths of its own box, so that they outlive every size and layout."""

from collections.abc import Callable, Sequence

from shop.intake.curves import bounds, flattened
from shop.intake.shapes import Panel, locate
from shop.intake.sheet_states import Mark
from shop.intake.signs import damage
from shop.intake.svg import tag

Px = Callable[[complex], complex]
_RADIUS = 13.0


def zoomed_box(panel: Panel, px: Px) -> str:
    """`data-box` of the drawing: "x y width height" in its own px, as on the whole sheet."""
    left, top, right, bottom = bounds(flattened(panel.flat.outline))
    first, last = px(complex(left, top)), px(complex(right, bottom))
    numbers = (first.real, first.imag, last.real - first.real, last.imag - first.imag)
    return " ".join(f"{number:.1f}" for number in numbers)


def zoomed_marks(panel: Panel, marks: Sequence[Mark], px: Px) -> list[str]:
    """A cross in a ring with its number, at each place."""
    drawn = []
    for mark in marks:
        if mark.x_th is not None and mark.y_th is not None:
            said = f"{mark.number}. {mark.title}"
            sign = damage(px(_point(panel, mark.x_th, mark.y_th)), str(mark.number), _RADIUS)
            drawn.append(tag("g", sign, class_="mark mark-damage", role="img", aria_label=said))
    return drawn


def on_the_sheet(panel: Panel, x_th: int | None, y_th: int | None) -> tuple[int, int] | None:
    """The same place in thousandths of the panel's box on the sheet; None where the sheet folds the panel."""
    if x_th is None or y_th is None or panel.flat.view == "flat":
        return None
    return locate(panel, _point(panel, x_th, y_th))


def _point(panel: Panel, x_th: int, y_th: int) -> complex:
    left, top, right, bottom = bounds(flattened(panel.flat.outline))
    return complex(left + (right - left) * x_th / 1000, top + (bottom - top) * y_th / 1000)
