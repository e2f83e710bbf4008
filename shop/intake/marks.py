"""Damage and doubtful paint found on a car that came in."""

from zoneinfo import ZoneInfo

from django.db import transaction

from shop.documents.rights import must_be_allowed
from shop.intake import paint
from shop.intake.jobs import held
from shop.intake.models import Mark, MarkPhoto, PaintNote
from shop.intake.panels import panel_row
from shop.intake.typed import Typed
from shop.people.identity import By
from shop.reasons import Reason
from shop.record.actions import write


@transaction.atomic
def mark_damage(*, job, panel, kind, x_mil, y_mil, note="", photos=(), by: By, now) -> Mark:
    """Damage found on the car: `panel` is a code, the place thousandths of its box, `photos` kept photos."""
    must_be_allowed(by, "mark_damage", workshop=job.workshop)
    job = held(job)
    row = panel_row(job, panel)
    typed = Typed()
    kind = typed.one_of(kind, Mark.Kind.values, sentence="Say what kind of damage it is.", where="#kind")
    note = typed.line(note, name="The note", most=300, where="#note")
    _must_be_inside(typed, x_mil, y_mil)
    if any(photo.workshop_id != job.workshop_id for photo in photos):
        typed.wrong("That photo belongs to another workshop.", "#photo", "other_workshop")
    typed.stop()
    mark = Mark.objects.create(
        job=job, panel=row, kind=kind, x_mil=x_mil, y_mil=y_mil, note=note, made_at=now
    )
    MarkPhoto.objects.bulk_create(MarkPhoto(mark=mark, photo=photo) for photo in photos)
    said = {"mark": mark.pk, "panel": row.code, "kind": kind, "x_mil": x_mil, "y_mil": y_mil, "note": note}
    said |= {"body": job.body.digest, "photos": [photo.sha256 for photo in photos]}
    write(workshop=job.workshop, job=job, verb="mark_damage", body=said, by=by, now=now)
    return mark


@transaction.atomic
def move_mark(*, mark, x_mil, y_mil, by: By, now) -> Mark:
    must_be_allowed(by, "mark_damage", workshop=mark.job.workshop)
    job = held(mark.job)
    typed = Typed()
    _must_be_inside(typed, x_mil, y_mil)
    _must_stand(typed, mark.struck_at)
    typed.stop()
    said = {"mark": mark.pk, "from": [mark.x_mil, mark.y_mil], "to": [x_mil, y_mil]}
    mark.x_mil, mark.y_mil = x_mil, y_mil
    mark.save(update_fields=["x_mil", "y_mil"])
    write(workshop=job.workshop, job=job, verb="move_mark", body=said, by=by, now=now)
    return mark


@transaction.atomic
def strike_mark(*, mark, why="", by: By, now) -> Mark:
    """A mark set by mistake: it stays in the book and is shown no more."""
    must_be_allowed(by, "mark_damage", workshop=mark.job.workshop)
    job = held(mark.job)
    typed = Typed()
    why = typed.line(why, name="The reason", most=200, where="#why")
    _must_stand(typed, mark.struck_at)
    typed.stop()
    mark.struck_at = now
    mark.save(update_fields=["struck_at"])
    write(
        workshop=job.workshop, job=job, verb="strike_mark", body={"mark": mark.pk, "why": why}, by=by, now=now
    )
    return mark


@transaction.atomic
def note_paint(*, job, panel, kind, dried="", painted_on=None, note="", by: By, now) -> PaintNote:
    """Fresh, repainted or suspect paint, told or found: the panel is held until the customer accepts it."""
    must_be_allowed(by, "mark_damage", workshop=job.workshop)
    job = held(job)
    row = panel_row(job, panel)
    typed = Typed()
    kind = typed.one_of(kind, paint.KINDS, sentence="Say what is known of the paint.", where="#kind")
    dried = typed.one_of(
        dried, ("", *paint.DRIED), sentence="Say how it was dried: baked or in the air.", where="#dried"
    )
    note = typed.line(note, name="The note", most=300, where="#note")
    if painted_on and painted_on > now.astimezone(ZoneInfo(job.workshop.zone)).date():
        typed.wrong("It cannot have been painted on a day to come.", "#painted_on")
    typed.stop()
    row_note = PaintNote.objects.create(
        job=job, panel=row, kind=kind, dried=dried, painted_on=painted_on, note=note, made_at=now
    )
    said = {"paint_note": row_note.pk, "panel": row.code, "kind": kind, "dried": dried, "note": note}
    said |= {"painted_on": painted_on.isoformat() if painted_on else None}
    write(workshop=job.workshop, job=job, verb="note_paint", body=said, by=by, now=now)
    return row_note


@transaction.atomic
def strike_paint(*, paint_note, why, by: By, now) -> PaintNote:
    """A note about paint that was a mistake; it stays in the book with the reason."""
    must_be_allowed(by, "mark_damage", workshop=paint_note.job.workshop)
    job = held(paint_note.job)
    typed = Typed()
    why = typed.line(why, name="The reason", most=200, where="#why")
    if not why:
        typed.reasons.append(Reason("reason_missing", "Say why the note was wrong.", where="#why"))
    _must_stand(typed, paint_note.struck_at)
    typed.stop()
    paint_note.struck_at = now
    paint_note.save(update_fields=["struck_at"])
    said = {"paint_note": paint_note.pk, "panel": paint_note.panel.code, "why": why}
    write(workshop=job.workshop, job=job, verb="strike_paint", body=said, by=by, now=now)
    return paint_note


def _must_be_inside(typed, x_mil, y_mil) -> None:
    for value in (x_mil, y_mil):
        if type(value) is not int or not 0 <= value <= 1000:
            typed.wrong("Touch the panel where the damage is: a mark lies inside its panel.", "#place")
            return


def _must_stand(typed, struck_at) -> None:
    if struck_at:
        typed.wrong("This was already struck out.", code="superseded")
