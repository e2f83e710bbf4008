"""What the shelf says to a set-out: one lot a car, one direction, and a roll that reaches."""

from collections import defaultdict
from collections.abc import Sequence

from shop.film.models import Roll
from shop.intake.names import body_of, panel_of
from shop.reasons import Reason, Weight
from shop.work import film_choice
from shop.work.film_need import Need, Wanted, film_needed, is_measured, returns_of
from shop.work.models.fitting import Fitting
from shop.work.models.outcome import Waiver
from shop.work.roll_use import Use, need_of_row, uses_of

PASSES = ("lots_mixed", "direction_mixed", "roll_short")
"""What somebody may let pass at set-out, for the whole car."""


def stock_reasons(job, asked: Sequence, dropped: Sequence[Fitting]) -> list[Reason]:
    """Lots, direction and length over the whole car as it would stand, but for what was let pass already.

    `asked`: pieces about to be written (`panel`, `old`, `new`, `roll`, `sheet`); `dropped`: fittings they replace.
    """
    found = _lots_and_direction(job, asked, dropped) + _lengths(job, asked, dropped)
    if not found:
        return []
    passed = Waiver.objects.filter(job=job, code__in=PASSES, fitting__isnull=True)
    codes = set(passed.values_list("code", flat=True))
    return [reason for reason in found if reason.code not in codes]


def _lots_and_direction(job, asked, dropped) -> list[Reason]:
    """A mix that stood already is not asked again by a correction of something else."""
    changed = {one.old.pk for one in asked if one.old} | {row.pk for row in dropped}
    others = Fitting.objects.live().of_job(job).exclude(pk__in=changed).filter(roll__isnull=False)
    rest = [(row.roll, row.turned) for row in others.select_related("roll__lot__material")]
    before = rest + [(one.old.roll, one.old.turned) for one in asked if one.old and one.old.roll]
    now = rest + [(one.roll, one.new.turned) for one in asked if one.roll]
    stood = {reason.text for reason in _mixed(before)}
    return [reason for reason in _mixed(now) if reason.text not in stood]


def _mixed(pieces: Sequence[tuple[Roll, bool]]) -> list[Reason]:
    lots = film_choice.mixed_lots(roll for roll, _ in pieces)
    return lots + film_choice.mixed_direction((roll.lot.material, turned) for roll, turned in pieces)


def _lengths(job, asked, dropped) -> list[Reason]:
    """Rolls that do not reach for what is now set out on them, and pieces no roll of that width is made for."""
    wanted: dict[Roll, int] = defaultdict(int)
    stood: dict[int, int] = defaultdict(int)
    found: list[Reason] = []
    for one in asked:
        if one.roll is None or _is_cut(one.old):
            continue
        need = _need(job, one, asked)
        if need is None:
            continue
        before = _stood(one)
        wanted[one.roll] += need.taken.length_mm
        stood[one.roll.pk] += before.taken.length_mm if before else 0
        if need.fault and not (before and before.fault):
            name = f"{one.panel.code.replace('-', ' ').capitalize()}, piece {one.new.piece}"
            found.append(Reason("roll_short", f"{name}: {need.fault}", Weight.WAIVABLE, "#roll"))
    changed = [one.old.pk for one in asked if one.old] + [row.pk for row in dropped]
    uses = uses_of(wanted, without=changed)
    return found + [
        _short(uses[roll.pk], needed, job)
        for roll, needed in wanted.items()
        if needed > uses[roll.pk].free_mm and needed > stood[roll.pk]
    ]


def _is_cut(old: Fitting | None) -> bool:
    return old is not None and (old.cuts.exists() or old.offcuts.exists())


def _need(job, one, asked) -> Need | None:
    shape = panel_of(body_of(job.body), one.panel.code)
    if not is_measured(shape):
        return None
    pieces = sum(other.panel.pk == one.panel.pk for other in asked)
    return film_needed(
        Wanted(shape, pieces, one.new.cut, one.new.turned, returns_of(one.new.edges.values())),
        roll_width_mm=one.roll.width_mm,
        directional=one.roll.lot.material.directional,
        sheet=one.sheet.body,
        plan=job.plan.body,
    )


def _stood(one) -> Need | None:
    """What this piece took of the same roll before the correction."""
    old = one.old
    shape = panel_of(body_of(old.job.body), one.panel.code) if old and old.roll_id == one.roll.pk else None
    if not is_measured(shape):
        return None
    return need_of_row(old, shape, Fitting.objects.live().filter(panel=one.panel).count())


def _short(use: Use, needed: int, job) -> Reason:
    left, wants = film_choice.said_mm(max(use.left_mm, 0), job), film_choice.said_mm(needed, job)
    spoken = f", {film_choice.said_mm(use.planned_mm, job)} of it set out elsewhere" if use.planned_mm else ""
    text = (
        f"Roll {use.roll.code} does not reach: this takes {wants}, and it has {left} left{spoken}. "
        "Take another roll, or let it pass with a reason."
    )
    return Reason("roll_short", text, Weight.WAIVABLE, "#roll")
