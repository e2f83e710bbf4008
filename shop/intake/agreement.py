"""What the customer signs when a car comes in: the words, and the signature under them."""

from django.db import transaction

from shop.documents.rights import must_be_allowed
from shop.intake import paint
from shop.intake.jobs import held
from shop.intake.models import Consent, Mark, PaintNote
from shop.intake.names import body_of, panel_name
from shop.intake.panels import panel_row
from shop.intake.strokes import read_strokes, strokes_text
from shop.intake.typed import Typed
from shop.people.identity import By
from shop.reasons import Reason, Refused
from shop.record.actions import keep_private, told, write

SAID = {
    "edges": "I was asked about door jambs and hidden edges: they stay in the old colour unless the set-out "
    "names them.",
    "registration": "I was told that film changes the colour people see. Many registration offices want to be "
    "told of it; the local one knows.",
    "sensors": "Lamps, sensors, cameras and washers were tried with me; they are tried again before I get the "
    "car back.",
}


@transaction.atomic
def accept_paint(*, job, panel, strokes, text="", by: By, now) -> Consent:
    """The customer wants film on this paint all the same, in writing. Lifts the hold of the notes so far."""
    must_be_allowed(by, "accept_paint", workshop=job.workshop)
    job = held(job)
    row = panel_row(job, panel)
    if not PaintNote.objects.unaccepted(job).filter(panel=row).exists():
        raise Refused(Reason("not_asked", "Nothing about this panel's paint waits for the customer."))
    text = text or paint_text(job, row)
    return _consent(job, Consent.Kind.PAINT, "accept_paint", text, strokes, by, now, panel=row)


@transaction.atomic
def agree_intake(*, job, strokes, said=(), text_seen="", by: By, now) -> Consent:
    """The customer agrees that the car came in as described; `said` are codes of what was told at the desk.

    `text_seen` is the text the customer had in front of them: refused when it is not the text as of now.
    """
    must_be_allowed(by, "take_in", workshop=job.workshop)
    job = held(job)
    typed = Typed()
    for code in said:
        typed.one_of(code, SAID, sentence="Nothing of that kind is told at the desk.")
    typed.stop()
    text = intake_text(job, said)
    if text_seen and text_seen != text:
        raise Refused(
            Reason("screen_changed", "The intake changed after this page was opened: read it again.")
        )
    return _consent(job, Consent.Kind.INTAKE, "agree_intake", text, strokes, by, now, said=list(said))


def _consent(job, kind, verb, text, strokes, by, now, *, panel=None, **more) -> Consent:
    drawn = keep_private(job.workshop, strokes_text(read_strokes(strokes)))
    consent = Consent.objects.create(job=job, kind=kind, panel=panel, text=text, strokes=drawn, given_at=now)
    body = {"consent": consent.pk, "kind": kind.value, "text": text, "strokes": told(drawn), **more}
    if panel:
        body["panel"] = panel.code
    write(workshop=job.workshop, job=job, verb=verb, body=body, by=by, now=now)
    return consent


def intake_text(job, said=()) -> str:
    """What the customer signs at intake, in sentences; the same text for screen and paper. Holds no names."""
    body = body_of(job.body)
    marks = [_mark_text(mark, body) for mark in Mark.objects.standing(job)]
    notes = [
        f"{panel_name(body, note.panel.code)}: {paint.concern(note.kind, note.dried, note.painted_on)}."
        for note in PaintNote.objects.standing(job)
    ]
    found = f"Damage found: {'; '.join(marks)}." if marks else "No damage was found."
    km = "" if job.odometer_km is None else f" The odometer shows {job.odometer_km} km."
    parts = [
        f"{job.vehicle.model}, {job.vehicle.colour}, comes in as job {job.number}.{km}",
        found,
        *notes,
        *(SAID[code] for code in SAID if code in said),
    ]
    return " ".join(parts)


def paint_text(job, panel) -> str:
    """What the customer signs before film goes on doubtful paint of this panel."""
    notes = PaintNote.objects.unaccepted(job).filter(panel=panel)
    said = "; ".join(paint.concern(note.kind, note.dried, note.painted_on) for note in notes)
    return paint.acceptance(panel_name(body_of(job.body), panel.code), said)


def _mark_text(mark, body) -> str:
    note = f" ({mark.note})" if mark.note else ""
    return f"{panel_name(body, mark.panel.code)}: {mark.get_kind_display().lower()}{note}"
