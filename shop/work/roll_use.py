"""What of each roll is spoken for: pieces set out and not cut yet, and film kept back for cars under cover."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shop.film.models import Lot, Roll
from shop.intake.names import body_of, panel_of
from shop.intake.shapes import Panel
from shop.work.film_need import Need, Wanted, film_needed, is_measured, returns_of
from shop.work.models.fitting import Fitting


@dataclass(frozen=True)
class Use:
    """One roll: `left_mm` by the book, `planned_mm` of it for pieces set out and not cut yet."""

    roll: Roll
    left_mm: int
    planned_mm: int

    @property
    def free_mm(self) -> int:
        return self.left_mm - self.planned_mm


def uses_of(rolls: Iterable[Roll], *, without: Sequence[int] = ()) -> dict[int, Use]:
    """By roll. `without` are ids of fittings left out of what is planned: those being set out anew."""
    pks = {roll.pk for roll in rolls}
    found = {roll.pk: roll for roll in Roll.objects.filter(pk__in=pks).with_left()}
    planned: Counter[int] = Counter()
    for row, need in needs_of(uncut(pks).exclude(pk__in=without)):
        planned[row.roll_id] += need.taken.length_mm
    return {pk: Use(roll, roll.left_mm, planned[pk]) for pk, roll in found.items()}


@dataclass(frozen=True)
class LotUse:
    """All film of one lot: what is free, and what is to stay for cars under cover."""

    lot: Lot
    free_mm: int

    @property
    def into_reserve_mm(self) -> int:
        """How much of what is kept back is used or spoken for."""
        return max(self.lot.reserve_mm - max(self.free_mm, 0), 0)


def lots_of(lots: Iterable[Lot], *, without: Sequence[int] = ()) -> dict[int, LotUse]:
    """By lot, over all its rolls and the offcuts on the shelf left out: they are too small to be counted on."""
    kept = {lot.pk: lot for lot in lots}
    uses = uses_of(Roll.objects.filter(lot__in=kept), without=without)
    free: Counter[int] = Counter()
    for use in uses.values():
        free[use.roll.lot_id] += max(use.free_mm, 0)
    return {pk: LotUse(lot, free[pk]) for pk, lot in kept.items()}


def uncut(rolls: Iterable[int]):
    """Live pieces on these rolls that nothing was cut for, on cars still at work."""
    return Fitting.objects.live().filter(
        roll__in=list(rolls),
        cuts__isnull=True,
        offcuts__isnull=True,
        job__cancelled_at__isnull=True,
        job__release__isnull=True,
    )


def needs_of(fittings) -> list[tuple[Fitting, Need]]:
    """Each of these pieces that has a roll with what it takes off it; a panel without a known size takes none."""
    rows = list(
        fittings.filter(roll__isnull=False)
        .select_related("panel", "job__vehicle", "roll__lot__material")
        # Documents are large and few: fetched once each, not once a row.
        .prefetch_related("edges", "sheet", "job__body", "job__plan")
    )
    live = Fitting.objects.live().filter(panel__in={row.panel_id for row in rows})
    pieces = Counter(live.values_list("panel_id", flat=True))
    found = []
    for row in rows:
        shape = panel_of(body_of(row.job.body), row.panel.code)
        if is_measured(shape):
            found.append((row, need_of_row(row, shape, max(pieces[row.panel_id], 1))))
    return found


def need_of_row(row: Fitting, shape: Panel, pieces: int) -> Need:
    return film_needed(
        Wanted(shape, pieces, row.cut, row.turned, returns_of(row.edges.all())),
        roll_width_mm=row.roll.width_mm,
        directional=row.roll.lot.material.directional,
        sheet=row.sheet.body,
        plan=row.job.plan.body,
    )
