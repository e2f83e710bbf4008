"""Set-out: which panels take film, in which pieces, from which roll, by whom, and how every edge ends."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from shop.documents.rights import must_be_allowed
from shop.film.models import Roll
from shop.intake.jobs import held
from shop.intake.mirror import other_side
from shop.intake.models import Panel
from shop.intake.names import body_of, panel_of, piece_name
from shop.intake.panels import film_row
from shop.intake.typed import Typed
from shop.people.identity import By
from shop.reasons import Reason, Refused
from shop.record.actions import write
from shop.work import film_choice
from shop.work.models.fitting import Fitting
from shop.work.pieces import MOST_PIECES, PieceSet, default_piece, divided, least_return_mm, read_piece
from shop.work.setout_rows import as_set, keep, take_off, told_piece, told_set, work_began
from shop.work.setout_stock import stock_reasons

LAID = "laid"


@dataclass(frozen=True)
class Asked:
    """One piece ready to be written: over which fitting, if it stands already, and what the book said of that."""

    panel: Panel
    old: Fitting | None
    was: PieceSet | None
    new: PieceSet
    roll: Roll | None
    sheet: Any
    before: dict | None


@transaction.atomic
def set_out(*, job, panel: str, pieces: Sequence[Mapping], by: By, now) -> list[Fitting]:
    """Set out one panel, or correct it: the pieces given are all the pieces it has.

    A piece: {piece, roll, sheet, cut, cover, material, features, turned, people, edges: [{code, finish,
    return_mm, primer}]}; `roll`, `sheet` and people as rows or ids. Whatever is left out stays as it is, or starts from
    the body document and the film sheet. Never deletes an edge: one that ends nowhere any more is `open`.
    """
    return _set_out(job, {panel: pieces}, by, now)


@transaction.atomic
def set_out_many(*, job, panels: Iterable[str], by: By, now, **same) -> list[Fitting]:
    """The same roll, sheet, cut, cover or people for several panels, set out so far or not."""
    job = held(job)
    wanted = list(dict.fromkeys(panels))
    live = {}
    for fitting in Fitting.objects.live().of_job(job).filter(panel__code__in=wanted):
        live.setdefault(fitting.panel.code, []).append({"piece": fitting.piece, **same})
    return _set_out(job, {code: live.get(code) or [{"piece": 1, **same}] for code in wanted}, by, now)


@transaction.atomic
def mirror_set_out(*, job, panel: str, by: By, now) -> list[Fitting]:
    """What is set out on this panel, on the one opposite as well."""
    job = held(job)
    other = other_side(panel)
    rows = list(Fitting.objects.live().of_job(job).filter(panel__code=panel).for_work())
    if not rows:
        raise Refused(Reason("not_asked", "Set this panel out first; then it can be mirrored."))
    if other == panel:
        raise Refused(Reason("not_asked", "This panel has no opposite side."))
    pieces = [_mirrored(row) for row in rows]
    return _set_out(job, {other: pieces}, by, now)


@transaction.atomic
def take_off_set_out(*, job, panel: str, by: By, now) -> None:
    """Take a panel off the set-out, as long as nothing of it is answered."""
    must_be_allowed(by, "set_out", workshop=job.workshop)
    job = held(job)
    rows = list(Fitting.objects.live().of_job(job).filter(panel__code=panel).for_work())
    if not rows:
        raise Refused(Reason("not_asked", "This panel is not set out."))
    if any(work_began(row) for row in rows):
        raise Refused(_began(_name(job, panel)))
    take_off(rows, now)
    body = {"job": job.pk, "panel": panel, "pieces": [row.piece for row in rows]}
    write(workshop=job.workshop, job=job, verb="take_off_set_out", body=body, by=by, now=now)


def _set_out(job, wanted: Mapping[str, Sequence[Mapping]], by: By, now) -> list[Fitting]:
    must_be_allowed(by, "set_out", workshop=job.workshop)
    job = held(job)
    if hasattr(job, "release"):
        raise Refused(Reason("job_closed", f"Job {job.number} is released: its set-out changes no more."))
    if not wanted:
        raise Refused(Reason("field_missing", "Choose at least one panel."))
    typed = Typed()
    asked: list[Asked] = []
    dropped: list[Fitting] = []
    for code, pieces in wanted.items():
        found, gone = _read_panel(typed, job, code, pieces, now)
        asked += found
        dropped += gone
    typed.reasons += stock_reasons(job, asked, dropped)
    typed.stop()
    take_off(dropped, now)
    rows = [keep(job, one, now) for one in asked]
    body = {
        "job": job.pk,
        "pieces": [told_piece(row, one) for row, one in zip(rows, asked, strict=True)],
        "taken_off": [row.place for row in dropped],
    }
    write(workshop=job.workshop, job=job, verb="set_out", body=body, by=by, now=now)
    return list(Fitting.objects.filter(pk__in=[row.pk for row in rows]).of_job(job).for_work())


def _read_panel(typed, job, code, pieces, now) -> tuple[list[Asked], list[Fitting]]:
    """What shall stand on one panel, and the pieces it loses; everything wrong goes to `typed`."""
    try:
        row = film_row(job, code)
    except Refused as refused:
        typed.reasons += refused.reasons
        return [], []
    numbers = [piece.get("piece", 1) for piece in pieces]
    if not numbers or any(type(n) is not int or not 1 <= n <= MOST_PIECES for n in numbers):
        typed.wrong(f"{_name(job, code)}: pieces are numbered from 1 to {MOST_PIECES}.")
        return [], []
    if len(set(numbers)) < len(numbers):
        typed.wrong(f"{_name(job, code)}: each piece is given once.")
        return [], []
    here = {fitting.piece: fitting for fitting in Fitting.objects.live().filter(panel=row).for_work()}
    elsewhere = [fitting for fitting in here.values() if fitting.job_id != job.pk]
    if elsewhere:
        text = (
            f"{_name(job, code)} still carries film from job {elsewhere[0].job.number}. It has to be taken off "
            "in the record before it is filmed again."
        )
        typed.wrong(text, code="film_there")
        return [], []
    gone = [fitting for n, fitting in here.items() if n not in numbers]
    if any(work_began(fitting) for fitting in gone):
        typed.reasons.append(_began(_name(job, code)))
    asked = [_read_piece(typed, job, row, here, given, len(pieces), now) for given in pieces]
    return [one for one in asked if one], gone


def _read_piece(typed, job, row, here, given, pieces, now) -> Asked | None:
    body = body_of(job.body)
    number = given.get("piece", 1)
    old = here.get(number)
    name = piece_name(body, row.code, number, pieces, job.workshop.language)
    roll = _roll(typed, job, old, given, name, now)
    sheet = _sheet(job, old, given, roll)
    if sheet is None:
        typed.wrong(f"{name}: there is no such film sheet here.", "#sheet")
        return None
    was = as_set(old) if old else None
    base = was or default_piece(panel_of(body, row.code), sheet.body, number)
    if pieces > 1 and len(here) <= 1 and "edges" not in given:
        base = divided(base, pieces)
    least = least_return_mm(sheet.body, job.plan.body)
    new = read_piece(typed, base, given, name=name, whole=pieces == 1, least_mm=least)
    fresh = [pk for pk in new.people if was is None or pk not in was.people]
    for sentence in film_choice.unknown_people(job.workshop, fresh):
        typed.wrong(f"{name}: {sentence}", "#people")
    before = told_set(was, old.roll, old.sheet) if old else None
    return Asked(row, old, was, new, roll, sheet, before)


def _roll(typed, job, old, given, name, now) -> Roll | None:
    if "roll" not in given:
        return old.roll if old else None
    if given["roll"] in (None, ""):
        roll = None
    else:
        roll = film_choice.find_roll(job.workshop, given["roll"])
        if roll is None:
            typed.wrong(f"{name}: there is no such roll on the shelf.", "#roll", "lot_missing")
            return None
    if old and old.roll_id == (roll.pk if roll else None):
        return roll
    if old and old.checklists.filter(signoffs__meaning=LAID, signoffs__replaced_by__isnull=True).exists():
        text = (
            f"{name} is signed as laid with roll {old.roll.code if old.roll else '–'}: it stays on that roll."
        )
        typed.wrong(text, "#roll", "already_signed")
    if roll:
        today = now.astimezone(ZoneInfo(job.workshop.zone)).date()
        typed.reasons += film_choice.roll_reasons(roll, name, today)
    return roll


def _sheet(job, old, given, roll):
    if given.get("sheet") not in (None, ""):
        return film_choice.find_sheet(job.workshop, given["sheet"])
    if roll and roll.lot.material.sheet:
        return roll.lot.material.sheet
    return old.sheet if old else film_choice.default_sheet(job.workshop)


def _mirrored(row: Fitting) -> dict:
    return {
        "piece": row.piece,
        "roll": row.roll_id,
        "sheet": row.sheet_id,
        "cut": row.cut,
        "cover": row.cover,
        "material": row.material,
        "features": row.features,
        "turned": row.turned,
        "people": [named.person_id for named in row.people.all()],
        "edges": [
            {
                "code": other_side(edge.code),
                "finish": edge.finish,
                "return_mm": edge.return_mm,
                "primer": edge.primer,
            }
            for edge in row.edges.all()
        ],
    }


def _name(job, code: str) -> str:
    return piece_name(body_of(job.body), code, 1, 1, job.workshop.language)


def _began(name: str) -> Reason:
    return Reason("work_began", f"{name}: work has begun, so it stays on the set-out.")
