"""The film a piece took off its roll, written down as it is laid: nobody counts metres with wet hands."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from shop.film.cutting import laid
from shop.intake.names import panel_of
from shop.work.film_need import is_measured
from shop.work.floor import Floor, Piece
from shop.work.kinds import Answer
from shop.work.models.fitting import Fitting
from shop.work.roll_use import need_of_row

FLOODING = "flooding"


def cuts_of(floor: Floor, targets: Iterable[tuple], answer: str) -> list[dict]:
    """For the book: what each piece takes that starts to be flooded now and was not cut at the bench."""
    if answer != Answer.START:
        return []
    found = []
    for piece, _, line, _ in targets:
        if line.starts != FLOODING or piece.row.roll is None:
            continue
        if piece.row.cuts.exists() or piece.row.offcuts.exists():
            continue
        taken = _taken(floor, piece)
        if taken:
            found.append({"place": piece.place, "roll": piece.row.roll_id, **taken})
    return found


def keep_cuts(floor: Floor, cuts: Sequence[dict], now) -> None:
    for cut in cuts:
        laid(floor.by_place[cut["place"]].row, cut["length_mm"], cut["width_mm"], now)


def _taken(floor: Floor, piece: Piece) -> dict | None:
    row = Fitting.objects.for_work().get(pk=piece.row.pk)
    shape = panel_of(floor.body, piece.spec.panel)
    if not is_measured(shape):
        return None
    pieces = sum(other.spec.panel == piece.spec.panel for other in floor.pieces)
    need = need_of_row(row, shape, pieces)
    measured = _measured(piece)
    taken = need.taken
    if measured is not None:
        taken = replace(taken, length_mm=taken.length_mm + 2 * (measured - need.allowance_mm))
    return {"length_mm": max(taken.length_mm, 1), "width_mm": min(taken.width_mm, row.roll.width_mm)}


def _measured(piece: Piece) -> int | None:
    """The allowance read on the dry card, where one was."""
    for stage in piece.stages.values():
        for on in stage.answers.values():
            value = (on.outcome.value or {}).get("allowance_mm")
            if on.outcome.answer == Answer.VALUE and isinstance(value, int):
                return value
    return None
