"""The intake sheet on paper: the car as it came in, what was measured, tried and said, and both signatures."""

from typing import Any

from shop.intake import agreement, paint
from shop.intake.devices import tried
from shop.intake.found_sheet import found_sheet
from shop.intake.gauge import gauged
from shop.intake.models import Consent, Mark, PaintNote
from shop.intake.names import body_of, panel_name
from shop.intake.odometer import format_km
from shop.intake.strokes import drawn
from shop.papers import compose, paper_size
from shop.people.models import Workshop
from shop.printing import Printed

SHEET_PX = 330


def intake_sheet(job, *, now) -> Printed:
    """All of the paper as plain values, ready for the press."""
    context = sheet_context(job, now=now)
    return compose(
        "intake/sheet_paper.html",
        context,
        style="job_paper.css",
        mark=f"intake.{job.number}",
        made=context["printed_at"],
    )


def sheet_context(job, *, now) -> dict[str, Any]:
    body, shop = body_of(job.body), job.workshop
    marks, notes = list(Mark.objects.standing(job)), list(PaintNote.objects.standing(job))
    waiting = {note.pk for note in PaintNote.objects.unaccepted(job)}
    signed = (
        Consent.objects.filter(job=job, kind=Consent.Kind.INTAKE)
        .select_related("strokes", "counter_strokes", "person")
        .last()
    )
    text = agreement.intake_text(job, marks=marks, notes=notes)
    miles = shop.unit_system == Workshop.Units.US

    def name(row) -> str:
        return panel_name(body, row.panel.code, shop.language)

    return {
        "job": job,
        "language": shop.language,
        "paper_size": paper_size(shop.country),
        "printed_at": now,
        "odometer": format_km(job.odometer_km, miles=miles) if job.odometer_km is not None else "not read",
        "drawing": found_sheet(
            job, marks, notes, waiting, size="print", width=SHEET_PX, title="The car unfolded, nose up"
        ),
        "marks": [(n, name(mark), mark) for n, mark in enumerate(marks, 1)],
        "notes": [
            (name(note), paint.concern(note.kind, note.dried, note.painted_on), note.pk in waiting)
            for note in notes
        ],
        "accepted": _accepted(job, body),
        "gauged": gauged(job),
        "tried": tried(job),
        "said": [
            (said.signed, bool(signed) and said.signed in signed.text) for said in agreement.SAID.values()
        ],
        "signed": signed,
        "is_old": bool(signed) and not signed.text.startswith(text),
        "customer_hand": drawn(signed.strokes.value) if signed and signed.strokes.value else "",
        "our_hand": _counter(signed),
    }


def _counter(signed: Consent | None) -> str:
    if not signed or not signed.counter_strokes or not signed.counter_strokes.value:
        return ""
    return drawn(signed.counter_strokes.value)


def _accepted(job, body) -> list[dict[str, Any]]:
    """Doubtful paint the customer wants filmed all the same, in the words signed."""
    rows = Consent.objects.filter(job=job, kind=Consent.Kind.PAINT).select_related("panel", "strokes")
    return [
        {
            "panel": panel_name(body, row.panel.code, job.workshop.language),
            "text": row.text,
            "at": row.given_at,
            "hand": drawn(row.strokes.value) if row.strokes.value else "",
        }
        for row in rows.order_by("pk")
    ]
