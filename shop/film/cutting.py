"""Film leaves a roll: for a piece on a car, as scrap, or as an offcut with a shelf."""

from zoneinfo import ZoneInfo

from django.db import transaction

from shop import units
from shop.documents.rights import must_be_allowed
from shop.film import questions
from shop.film.models import Cut, Offcut, Roll
from shop.people.identity import By
from shop.people.names import tidy
from shop.reasons import Reason, Refused, Weight
from shop.record.actions import book_of, write
from shop.templatetags.words import day


@transaction.atomic
def cut_film(
    *,
    job,
    panel: str,
    by: By,
    now,
    roll: Roll | None = None,
    length_mm: int = 0,
    width_mm: int | None = None,
    offcut: Offcut | None = None,
    confirmed: bool = False,
) -> Cut | Offcut:
    """Film for a piece that is set out (`hood.1`): so much off its roll, or an offcut of the same lot.

    More than the roll holds by the book is refused until `confirmed` says that it was measured.
    """
    must_be_allowed(by, "cut_film", workshop=job.workshop)
    book_of(job.workshop)
    fitting = _piece(job, panel)
    stock = _offcut(offcut, job.workshop) if offcut else _roll(roll, job.workshop)
    _refuse(_fit(fitting, stock, now) + ([] if offcut else _size(stock, length_mm, width_mm, confirmed)))
    if offcut:
        stock.gone_at, stock.gone_as, stock.fitting = now, Offcut.Gone.LAID, fitting
        stock.save(update_fields=["gone_at", "gone_as", "fitting"])
        cut, length_mm, width_mm = stock, stock.length_mm, stock.width_mm
    else:
        cut = Cut.objects.create(
            roll=stock, fitting=fitting, length_mm=length_mm, width_mm=width_mm, made_at=now
        )
    source = stock.roll if offcut else stock
    body = {"place": fitting.place, "roll": _told(source), "length_mm": length_mm, "width_mm": width_mm}
    body |= {"offcut": stock.pk if offcut else None, "confirmed": confirmed}
    write(workshop=job.workshop, job=job, verb="cut_film", body=body, by=by, now=now)
    return cut


@transaction.atomic
def scrap(
    *,
    reason: str,
    by: By,
    now,
    roll: Roll | None = None,
    length_mm: int = 0,
    offcut: Offcut | None = None,
    confirmed: bool = False,
) -> Cut | Offcut:
    """Film that goes to the bin: so much off a roll, or a whole offcut, and why."""
    workshop = _workshop_of(roll, offcut)
    must_be_allowed(by, "cut_film", workshop=workshop)
    book_of(workshop)
    why = questions.why(reason)
    if offcut:
        row = _offcut(offcut, workshop)
        row.gone_at, row.gone_as = now, Offcut.Gone.SCRAP
        row.save(update_fields=["gone_at", "gone_as"])
        source, length_mm = row.roll, row.length_mm
    else:
        source = _roll(roll, workshop)
        _refuse(_size(source, length_mm, None, confirmed))
        row = Cut.objects.create(roll=source, kind=Cut.Kind.SCRAP, length_mm=length_mm, note=why, made_at=now)
    body = {"roll": _told(source), "length_mm": length_mm, "offcut": offcut.pk if offcut else None}
    write(workshop=workshop, verb="scrap", body=body | {"reason": why}, by=by, now=now)
    return row


@transaction.atomic
def keep_offcut(
    *,
    roll: Roll,
    width_mm: int,
    length_mm: int,
    shelf: str,
    by: By,
    now,
    off_the_roll: bool = False,
    confirmed: bool = False,
) -> Offcut:
    """A piece too good to throw away, and the shelf it lies on.

    `off_the_roll`: it was cut for this, so the roll is shorter by its length; else it is what a cut left over.
    """
    workshop = roll.lot.material.workshop
    must_be_allowed(by, "cut_film", workshop=workshop)
    book_of(workshop)
    row, shelf = _roll(roll, workshop), tidy(shelf)
    reasons = _size(row, length_mm, width_mm, confirmed) if off_the_roll else _sides(row, length_mm, width_mm)
    if not 0 < len(shelf) <= 40:
        text = "Say on which shelf it lies, in up to 40 characters."
        reasons.append(Reason("value_wrong", text, where="#shelf"))
    _refuse(reasons)
    if off_the_roll:
        Cut.objects.create(
            roll=row, kind=Cut.Kind.OFFCUT, length_mm=length_mm, width_mm=width_mm, made_at=now
        )
    kept = Offcut.objects.create(roll=row, width_mm=width_mm, length_mm=length_mm, shelf=shelf, kept_at=now)
    body = {"offcut": kept.pk, "roll": _told(row), "width_mm": width_mm, "length_mm": length_mm}
    body |= {"shelf": shelf, "off_the_roll": off_the_roll}
    write(workshop=workshop, verb="keep_offcut", body=body, by=by, now=now)
    return kept


def laid(fitting, length_mm: int, width_mm: int, now) -> Cut | None:
    """The cut of a piece that is being laid, unless it was entered at the bench. The entry is the caller's."""
    if fitting.roll is None or fitting.cuts.exists() or fitting.offcuts.exists():
        return None
    return Cut.objects.create(
        roll=fitting.roll, fitting=fitting, length_mm=length_mm, width_mm=width_mm, made_at=now
    )


def _refuse(reasons: list[Reason]) -> None:
    if reasons:
        raise Refused(reasons)


def _told(roll: Roll) -> dict:
    return {"id": roll.pk, "code": roll.code, "lot": roll.lot.code}


def _workshop_of(roll: Roll | None, offcut: Offcut | None):
    source = offcut.roll if offcut else roll
    if source is None:
        raise Refused(Reason("field_missing", "Say from which roll or offcut.", where="#roll"))
    return source.lot.material.workshop


def _piece(job, panel: str):
    code, _, piece = str(panel).partition(".")
    number = int(piece) if piece.isascii() and piece.isdigit() and len(piece) < 3 else 1
    row = (
        job.fittings.filter(panel__code=code, piece=number, ended_at__isnull=True)
        .select_related("panel", "roll__lot")
        .first()
    )
    if row is None:
        raise Refused(Reason("superseded", f"{str(panel)[:40]} is not set out in this job.", where="#panel"))
    return row


def _roll(roll: Roll | None, workshop) -> Roll:
    """The roll, held until the transaction ends, with `left_mm`."""
    if roll is None:
        raise Refused(Reason("field_missing", "Say from which roll.", where="#roll"))
    Roll.objects.select_for_update(no_key=True).get(pk=roll.pk)
    row = Roll.objects.on_the_shelf(workshop).with_left().filter(pk=roll.pk).first()
    if row is None:
        raise Refused(Reason("other_workshop", "That roll is not on this workshop's shelf.", where="#roll"))
    return row


def _offcut(offcut: Offcut, workshop) -> Offcut:
    Offcut.objects.select_for_update(no_key=True).get(pk=offcut.pk)
    row = Offcut.objects.select_related("roll__lot__material__workshop").get(pk=offcut.pk)
    if row.roll.lot.material.workshop_id != workshop.pk:
        text = "That offcut is not on this workshop's shelf."
        raise Refused(Reason("other_workshop", text, where="#offcut"))
    if row.gone_at:
        text = "That offcut is gone from the shelf already."
        raise Refused(Reason("superseded", text, where="#offcut"))
    return row


def _fit(fitting, stock: Roll | Offcut, now) -> list[Reason]:
    """Film for a car is of the lot that is set out, sound and in date."""
    roll = stock.roll if isinstance(stock, Offcut) else stock
    lot, wanted = roll.lot, fitting.roll
    found = []
    if wanted is None:
        text = f"{fitting.place} has no roll set out: choose one there first."
        return [Reason("lot_missing", text, where="#panel")]
    same = wanted.lot_id == lot.pk if isinstance(stock, Offcut) else wanted.pk == roll.pk
    if not same:
        text = (
            f"{fitting.place} is set out on roll {wanted.code} of lot {wanted.lot.code}; this is roll "
            f"{roll.code} of lot {lot.code}. Fetch that one, or correct the set-out."
        )
        found.append(Reason("lot_wrong", text, where="#roll"))
    if lot.quarantined_at:
        text = f"Lot {lot.code} is in quarantine: nothing is cut from it."
        found.append(Reason("lot_quarantined", text, where="#roll"))
    expires = min(filter(None, (roll.expires_on, lot.expires_on)))
    if expires < now.astimezone(ZoneInfo(lot.material.workshop.zone)).date():
        text = f"Roll {roll.code} expired on {day(expires)}: take another."
        found.append(Reason("roll_expired", text, where="#roll"))
    return found


def _sides(roll: Roll, length_mm: int, width_mm: int | None) -> list[Reason]:
    found = []
    if length_mm < 1:
        found.append(Reason("value_wrong", "Say how long it is.", where="#length"))
    if width_mm is not None and not 0 < width_mm <= roll.width_mm:
        system = roll.lot.material.workshop.unit_system
        text = f"The roll is {units.format_mm(roll.width_mm, system)} wide: a piece of it cannot be wider."
        found.append(Reason("value_wrong", text, where="#width"))
    if length_mm > roll.length_mm:
        system = roll.lot.material.workshop.unit_system
        text = f"The whole roll had {units.format_mm(roll.length_mm, system)}: look at the unit."
        found.append(Reason("value_wrong", text, where="#length"))
    return found


def _size(roll: Roll, length_mm: int, width_mm: int | None, confirmed: bool) -> list[Reason]:
    found = _sides(roll, length_mm, width_mm)
    if not found and length_mm > roll.left_mm and not confirmed:
        left = units.format_mm(max(roll.left_mm, 0), roll.lot.material.workshop.unit_system)
        text = f"By the book roll {roll.code} has {left} left. Measure again, and look what was cut before."
        found.append(Reason("roll_short", text, Weight.WAIVABLE, "#length"))
    return found
