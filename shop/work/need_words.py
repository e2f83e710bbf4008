"""What a set-out takes off the shelf, in sentences: beside the form, before anything is cut."""

from collections.abc import Sequence

from shop.film.shelf import length, reserve_said
from shop.reasons import Reason, Weight
from shop.units import format_mm
from shop.work.models.fitting import Fitting
from shop.work.roll_use import lots_of, needs_of, uses_of


def need_said(rows: Sequence[Fitting], system: str) -> list[str]:
    """A sentence a piece that has a roll: how much of it, with which allowance, and what is free after it."""
    pieces = Fitting.objects.filter(pk__in=[row.pk for row in rows]).order_by("piece")
    uses = uses_of([row.roll for row in rows if row.roll])
    cut = set(pieces.exclude(cuts=None, offcuts=None).values_list("pk", flat=True))
    return [
        _sentence(row, need, uses[row.roll_id], row.pk in cut, len(rows), system)
        for row, need in needs_of(pieces)
    ]


def _sentence(row, need, use, cut: bool, pieces: int, system: str) -> str:
    name = f"Piece {row.piece}" if pieces > 1 else "The film"
    if cut:
        return f"{name} is cut already, from lot {row.roll.lot.code}."
    size = f"{length(need.taken.length_mm, system)} of roll {row.roll.code}"
    allowance = format_mm(need.allowance_mm, system)
    tight = "; the roll leaves less than that across" if need.tight else ""
    said = f"{name} takes {size}, with {allowance} a side{tight}."
    if need.fault:
        return f"{said} {need.fault}"
    return f"{said} {length(max(use.free_mm, 0), system)} are free after what is set out."


def reserve_notes(rows: Sequence[Fitting], system: str) -> list[Reason]:
    """Film kept back for cars under cover that this shop's set-outs are about to cut into."""
    lots = {row.roll.lot_id: row.roll.lot for row in rows if row.roll and row.roll.lot.reserve_mm}
    return [
        Reason("reserve_low", f"{reserve_said(use.lot.reserve_mm, use.free_mm, system)}.", Weight.NOTE)
        for use in lots_of(lots.values()).values()
        if use.into_reserve_mm
    ]
