"""What the customer signs when a car comes in: the words, and the signature under them."""

from dataclasses import dataclass

from django.db import transaction

from shop.documents.rights import must_be_allowed
from shop.intake import paint
from shop.intake.devices import tried, tried_text
from shop.intake.gauge import gauge_text, gauged
from shop.intake.jobs import held
from shop.intake.models import Consent, Mark, PaintNote
from shop.intake.names import body_of, panel_name
from shop.intake.odometer import format_km
from shop.intake.panels import panel_row
from shop.intake.strokes import read_strokes, strokes_text
from shop.intake.typed import Typed
from shop.people.identity import By
from shop.people.models import Workshop
from shop.reasons import Reason, Refused
from shop.record.actions import keep_private, told, write


@dataclass(frozen=True)
class Said:
    """One thing told at the desk: as the desk ticks it, and as the customer signs it."""

    ticked: str
    signed: str


SAID = {
    "edges": Said(
        "Door jambs and hidden edges: asked, and said that they keep the old colour unless set out",
        "I was asked about door jambs and hidden edges: they keep the old colour unless the set-out names them.",
    ),
    "registration": Said(
        "Colour change: said that the registration office may want to know; the local one decides",
        "I was told that film changes the colour people see, and that many registration offices want to be "
        "told of it; the local one decides.",
    ),
    "sensors": Said(
        "Lamps, sensors, cameras and washers: tried together",
        "Lamps, sensors, cameras and washers were tried with me, and are tried again before I get the car back.",
    ),
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
def agree_intake(*, job, strokes, said=(), text_seen="", counter_strokes=(), by: By, now) -> Consent:
    """The customer agrees that the car came in as described; `said` are codes of what was told at the desk.

    `counter_strokes` is the hand of whoever takes the car in; without it the paper keeps a line for a pen.
    `text_seen` is what the customer had in front of them: refused when the car is described otherwise by now.
    """
    must_be_allowed(by, "take_in", workshop=job.workshop)
    job = held(job)
    typed = Typed()
    for code in said:
        typed.one_of(code, SAID, sentence="Nothing of that kind is told at the desk.")
    typed.stop()
    text = intake_text(job)
    if text_seen and text_seen != text:
        raise Refused(
            Reason("screen_changed", "The intake changed after this page was opened: read it again.")
        )
    text = " ".join([text, *(SAID[code].signed for code in SAID if code in said)])
    counter = (
        keep_private(job.workshop, strokes_text(read_strokes(counter_strokes))) if counter_strokes else None
    )
    return _consent(
        job, Consent.Kind.INTAKE, "agree_intake", text, strokes, by, now, counter=counter, said=list(said)
    )


def _consent(job, kind, verb, text, strokes, by, now, *, panel=None, counter=None, **more) -> Consent:
    drawn = keep_private(job.workshop, strokes_text(read_strokes(strokes)))
    consent = Consent.objects.create(
        job=job,
        kind=kind,
        panel=panel,
        text=text,
        strokes=drawn,
        counter_strokes=counter,
        person=by.person,
        given_at=now,
    )
    body = {"consent": consent.pk, "kind": kind.value, "text": text, "strokes": told(drawn), **more}
    if counter:
        body["counter_strokes"] = told(counter)
    if panel:
        body["panel"] = panel.code
    write(workshop=job.workshop, job=job, verb=verb, body=body, by=by, now=now)
    return consent


def intake_text(job, *, marks=None, notes=None, measured=None, tries=None) -> str:
    """The car as it came in, in sentences; the same text for screen and paper. Holds no names.

    `marks`, `notes`, `measured` and `tries`: those standing, where the caller has them at hand.
    """
    body, language = body_of(job.body), job.workshop.language
    marks = Mark.objects.standing(job) if marks is None else marks
    notes = PaintNote.objects.standing(job) if notes is None else notes
    damage = "; ".join(_mark_text(mark, panel_name(body, mark.panel.code, language)) for mark in marks)
    model = job.vehicle.model[:1].upper() + job.vehicle.model[1:]
    parts = [f"{model}, {job.vehicle.colour}, comes in as job {job.number}."]
    if job.odometer_km is not None:
        miles = job.workshop.unit_system == Workshop.Units.US
        parts.append(f"The odometer shows {format_km(job.odometer_km, miles=miles)}.")
    parts.append(f"Damage found: {damage}." if damage else "No damage was found.")
    for note in notes:
        said = paint.concern(note.kind, note.dried, note.painted_on)
        parts.append(f"{panel_name(body, note.panel.code, language)}: {said}.")
    parts.append(gauge_text(gauged(job) if measured is None else measured))
    parts.append(tried_text(tried(job) if tries is None else tries))
    return " ".join(part for part in parts if part)


def paint_text(job, panel) -> str:
    """What the customer signs before film goes on doubtful paint of this panel."""
    notes = PaintNote.objects.unaccepted(job).filter(panel=panel)
    said = "; ".join(paint.concern(note.kind, note.dried, note.painted_on) for note in notes)
    return paint.acceptance(panel_name(body_of(job.body), panel.code, job.workshop.language), said)


def _mark_text(mark, panel: str) -> str:
    note = f" ({mark.note})" if mark.note else ""
    return f"{panel}: {mark.get_kind_display().lower()}{note}"
