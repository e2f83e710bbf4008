"""Stock comes in, is opened, is held back: every change is one of these, and one entry in the workshop's book."""

from datetime import date
from zoneinfo import ZoneInfo

from django.db import transaction

from shop.documents.models import Document
from shop.documents.rights import must_be_allowed
from shop.film import questions
from shop.film.cutting import cut_film, keep_offcut, scrap
from shop.film.holding import free_lot, quarantine_lot, reserve_film
from shop.film.mixing import make_mix
from shop.film.models import Lot, Material, Roll
from shop.people.identity import By
from shop.people.names import tidy
from shop.reasons import Reason, Refused
from shop.record.actions import book_of, write
from shop.templatetags.words import day

__all__ = [
    "change_film",
    "cut_film",
    "free_lot",
    "keep_offcut",
    "make_mix",
    "open_lot",
    "open_roll",
    "quarantine_lot",
    "receive_lot",
    "receive_roll",
    "reserve_film",
    "scrap",
]
WET = (Material.Kind.PRIMER, Material.Kind.SLIP, Material.Kind.TACK)


@transaction.atomic
def receive_roll(
    *,
    workshop,
    lot: str,
    roll: str,
    width_mm: int,
    length_mm: int,
    received_on: date,
    expires_on: date,
    by: By,
    now,
    material: Material | None = None,
    name: str = "",
    colour: str = "",
    finish: str = "",
    directional: bool = False,
    sheet: Document | None = None,
    opened_on: date | None = None,
    confirmed: bool = False,
) -> Roll:
    """A roll onto the shelf. `material` is a film already known; without it, name and the rest make a new one.

    A size far from any roll is refused until `confirmed` says that it was read twice.
    """
    must_be_allowed(by, "receive_roll", workshop=workshop)
    book_of(workshop)
    lot, roll = tidy(lot), tidy(roll)
    days = {"received_on": received_on, "opened_on": opened_on, "expires_on": expires_on}
    _refuse(
        questions.codes(lot=lot, roll=roll)
        + questions.dates(today=_today(workshop, now), **days)
        + questions.size(width_mm, length_mm, confirmed=confirmed)
        + questions.width_of_sheet(_sheet_of(material, sheet), width_mm, confirmed=confirmed)
        + (_shelf_faults(workshop, material, "film") if material else _new_film_faults(workshop, name, sheet))
    )
    film = material or _new_film(workshop, name, colour, finish, directional, sheet)
    batch, _ = Lot.objects.get_or_create(material=film, code=lot, defaults={"received_on": received_on})
    if batch.rolls.filter(code__iexact=roll).exists():
        text = f"Roll {roll} of lot {lot} is already on the shelf."
        raise Refused(Reason("already_on_shelf", text, where="#roll"))
    row = Roll.objects.create(lot=batch, code=roll, width_mm=width_mm, length_mm=length_mm, **days)
    body = {"roll": row.pk, "code": roll, "lot": {"id": batch.pk, "code": lot}, "film": _told_film(film)}
    body |= {"width_mm": width_mm, "length_mm": length_mm, "confirmed": confirmed} | _told_days(days)
    write(workshop=workshop, verb="receive_roll", body=body, by=by, now=now)
    return row


@transaction.atomic
def receive_lot(
    *,
    workshop,
    kind: str,
    lot: str,
    received_on: date,
    by: By,
    now,
    name: str = "",
    material: Material | None = None,
    opened_on: date | None = None,
    expires_on: date | None = None,
) -> Lot:
    """A lot of primer, slip or tack onto the shelf, of a product already known or a new name."""
    must_be_allowed(by, "receive_lot", workshop=workshop)
    book_of(workshop)
    lot, name = tidy(lot), tidy(name)
    days = {"received_on": received_on, "opened_on": opened_on, "expires_on": expires_on}
    reasons = questions.codes(lot=lot) + questions.dates(today=_today(workshop, now), **days)
    if kind not in WET:
        reasons.append(Reason("value_wrong", "Say whether it is primer, slip or tack.", where="#kind"))
    elif material:
        reasons += _shelf_faults(workshop, material, kind)
    elif not 0 < len(name) <= 80:
        reasons.append(
            Reason("value_wrong", "Give the product a name of up to 80 characters.", where="#name")
        )
    _refuse(reasons)
    material = material or _named(workshop, kind, name)
    if material.lots.filter(code__iexact=lot).exists():
        text = f"Lot {lot} of {material.name} is already on the shelf."
        raise Refused(Reason("already_on_shelf", text, where="#lot"))
    row = Lot.objects.create(material=material, code=lot, **days)
    body = {"lot": {"id": row.pk, "code": lot}, "kind": material.kind, "name": material.name}
    write(workshop=workshop, verb="receive_lot", body=body | _told_days(days), by=by, now=now)
    return row


@transaction.atomic
def open_roll(*, roll: Roll, opened_on: date, by: By, now) -> Roll:
    """The day a roll was opened; entered once, since shelf life may count from it."""
    workshop = roll.lot.material.workshop
    must_be_allowed(by, "receive_roll", workshop=workshop)
    roll = Roll.objects.select_for_update(no_key=True).get(pk=roll.pk)
    _opening(roll, workshop, opened_on, now)
    body = {"roll": roll.pk, "opened_on": opened_on.isoformat()}
    write(workshop=workshop, verb="open_roll", body=body, by=by, now=now)
    return roll


@transaction.atomic
def open_lot(*, lot: Lot, opened_on: date, by: By, now) -> Lot:
    """The day a bottle of this lot was opened."""
    workshop = lot.material.workshop
    must_be_allowed(by, "receive_lot", workshop=workshop)
    book_of(workshop)
    lot = Lot.objects.select_for_update(no_key=True).get(pk=lot.pk)
    _opening(lot, workshop, opened_on, now)
    body = {"lot": lot.pk, "opened_on": opened_on.isoformat()}
    write(workshop=workshop, verb="open_lot", body=body, by=by, now=now)
    return lot


@transaction.atomic
def change_film(
    *,
    material: Material,
    by: By,
    now,
    colour: str | None = None,
    finish: str | None = None,
    directional: bool | None = None,
    sheet: Document | None = None,
) -> Material:
    """What is known of a film put right; None leaves it as it is. Pieces set out keep the sheet they have."""
    workshop = material.workshop
    must_be_allowed(by, "receive_roll", workshop=workshop)
    book_of(workshop)
    material = Material.objects.select_related("sheet", "workshop").get(pk=material.pk)
    if material.kind != Material.Kind.FILM:
        raise Refused(Reason("value_wrong", "Only film has a film sheet and a direction."))
    _refuse(_sheet_faults(workshop, sheet))
    given = {"colour": colour, "finish": finish, "directional": directional, "sheet": sheet}
    before = _told_film(material)
    for name, value in given.items():
        if value is not None:
            setattr(material, name, tidy(value) if isinstance(value, str) else value)
    material.save()
    body = {"film": _told_film(material), "before": before}
    write(workshop=workshop, verb="change_film", body=body, by=by, now=now)
    return material


def _refuse(reasons: list[Reason]) -> None:
    if reasons:
        raise Refused(reasons)


def _today(workshop, now) -> date:
    return now.astimezone(ZoneInfo(workshop.zone)).date()


def _told_days(days: dict[str, date | None]) -> dict[str, str | None]:
    return {name: day.isoformat() if day else None for name, day in days.items()}


def _told_film(material: Material) -> dict:
    return {
        "id": material.pk,
        "name": material.name,
        "colour": material.colour,
        "finish": material.finish,
        "directional": material.directional,
        "sheet": material.sheet.digest if material.sheet else None,
    }


def _shelf_faults(workshop, material: Material, kind: str) -> list[Reason]:
    if material.workshop_id == workshop.pk and material.kind == kind:
        return []
    return [Reason("other_workshop", "That is not on this workshop's shelf.", where="#material")]


def _sheet_of(material: Material | None, sheet: Document | None) -> dict | None:
    found = material.sheet if material else sheet
    return found.body if found else None


def _new_film(workshop, name, colour, finish, directional, sheet) -> Material:
    """What nobody typed is taken from the film sheet, if it says so."""
    said = (sheet.body.get("film") or {}) if sheet else {}
    finish, directional = finish or said.get("finish", ""), directional or said.get("directional", False)
    return Material.objects.create(
        workshop=workshop,
        kind=Material.Kind.FILM,
        name=tidy(name),
        colour=tidy(colour),
        finish=tidy(finish),
        directional=directional,
        sheet=sheet,
    )


def _new_film_faults(workshop, name: str, sheet: Document | None) -> list[Reason]:
    found = []
    if not 0 < len(tidy(name)) <= 80:
        found.append(Reason("value_wrong", "Give the film a name of up to 80 characters.", where="#name"))
    elif workshop.materials.filter(kind=Material.Kind.FILM, name__iexact=tidy(name)).exists():
        text = "A film of this name is on the shelf already: pick it from the list."
        found.append(Reason("name_taken", text, where="#name"))
    return found + _sheet_faults(workshop, sheet)


def _sheet_faults(workshop, sheet: Document | None) -> list[Reason]:
    if sheet and (
        sheet.workshop_id != workshop.pk or sheet.kind != Document.Kind.FILM or not sheet.published_at
    ):
        return [Reason("value_wrong", "Pick one of the film sheets in force.", where="#sheet")]
    return []


def _named(workshop, kind: str, name: str) -> Material:
    known = workshop.materials.filter(kind=kind, name__iexact=name).first()
    return known or Material.objects.create(workshop=workshop, kind=kind, name=name)


def _opening(row: Roll | Lot, workshop, opened_on: date, now) -> None:
    if row.opened_on:
        raise Refused(Reason("value_wrong", f"{row.code} was opened on {day(row.opened_on)} already."))
    _refuse(
        questions.dates(
            today=_today(workshop, now), received_on=row.received_on, opened_on=opened_on, expires_on=None
        )
    )
    row.opened_on = opened_on
    row.save(update_fields=["opened_on"])
