"""How much of its roll a piece takes before anything is cut: nominal size, allowance, and the way the film runs."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from shop.film.usage import Taken, film_for
from shop.intake.shapes import Panel
from shop.work.kinds import Cut, Finish

BUMPER: Final = "bumper"


@dataclass(frozen=True)
class Wanted:
    """A piece as far as its film is concerned. `returns_mm` are the depths of its wrapped edges."""

    panel: Panel
    pieces: int
    cut: str
    turned: bool = False
    returns_mm: tuple[int, ...] = ()


@dataclass(frozen=True)
class Need:
    """Film for one piece; `fault` says why it cannot be had from a roll of that width, and then it is nominal."""

    taken: Taken
    allowance_mm: int
    tight: bool = False
    fault: str = ""


def film_needed(
    piece: Wanted, *, roll_width_mm: int, directional: bool, sheet: Mapping[str, Any], plan: Mapping[str, Any]
) -> Need:
    """What a piece takes off a roll of this width. Across the roll a smaller allowance will do, along it not."""
    across, along = size_mm(piece.panel, piece.pieces)
    if directional and piece.turned:
        across, along = along, across
    allowance = allowance_mm(piece, sheet, plan)
    try:
        taken = film_for(
            across,
            along,
            allowance_mm=allowance,
            roll_width_mm=roll_width_mm,
            directional=directional,
            least_mm=0,
        )
    except ValueError as fault:
        return Need(Taken(along + 2 * allowance, across, turned=False), allowance, fault=str(fault))
    beside = along if taken.turned else across
    return Need(taken, allowance, tight=taken.width_mm < beside + 2 * allowance)


def is_measured(panel: Panel | None) -> bool:
    """Whether the body document knows how large it is: a stripe is measured on the car."""
    return panel is not None and min(panel.nominal_mm) > 0


def size_mm(panel: Panel, pieces: int = 1) -> tuple[int, int]:
    """Across and along the car, of one of so many pieces side by side on the panel's longer side.

    The body document gives a panel's width and height as it is looked at. Film that runs one way runs from nose
    to tail, and on nose and tail upwards: on the side of the car that is the panel's width.
    """
    width, height = panel.nominal_mm
    if width >= height:
        width = -(-width // pieces)
    else:
        height = -(-height // pieces)
    return (height, width) if _on_the_side(panel) else (width, height)


def allowance_mm(piece: Wanted, sheet: Mapping[str, Any], plan: Mapping[str, Any]) -> int:
    """A side. Bulk film is cut larger than the panel, as film sheet or plan say; plotted film by its returns."""
    if piece.cut != Cut.BULK:
        return max(piece.returns_mm, default=0)
    name = "allowance_bumper_mm" if piece.panel.kind == BUMPER else "allowance_mm"
    for document in (sheet, plan):
        limits = document.get("limits", {}).get(name, {})
        for key in ("good_to", "good_from", "note_below"):
            if key in limits:
                return int(limits[key])
    return 0


def returns_of(edges: Iterable[Any]) -> tuple[int, ...]:
    """Depths of the edges that are turned under, of a set-out or of rows."""
    return tuple(edge.return_mm for edge in edges if edge.finish == Finish.WRAPPED and edge.return_mm)


def _on_the_side(panel: Panel) -> bool:
    return panel.shapes[0].view == "side" if panel.shapes else panel.flat.view == "side"
