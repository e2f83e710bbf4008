"""Doubtful paint of one panel: the customer accepts it in writing, or the note was a mistake."""

from django.contrib import messages
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.safestring import mark_safe

from shop import clock
from shop.intake import actions, agreement, paint
from shop.intake.drawing import draw_sheet
from shop.intake.forms import ReasonForm, SignatureForm
from shop.intake.models import Consent, PaintNote, Panel
from shop.intake.names import body_of, panel_name
from shop.intake.strokes import drawn
from shop.intake.views_arrival import job_for
from shop.pages import page
from shop.people.desk import settle
from shop.people.doors import DESK, staff


@staff(*DESK, posts=True)
def acceptance(request, job, panel):
    """Doubtful paint of one panel: what is known, what the customer signs, and the way out of a mistake."""
    job = job_for(request, job)
    row = get_object_or_404(Panel, vehicle=job.vehicle, code=panel, replaced_at__isnull=True)
    strike = request.POST.get("act") == "strike"
    form = SignatureForm(request.POST if request.POST and not strike else None, prefix="accept")
    strike_form = ReasonForm(request.POST if strike else None, prefix="strike")
    if request.method == "POST":
        sent = strike_form if strike else form
        act = _strike_paint(request, job, row) if strike else _accept(request, job, row)
        done = settle(request, sent, act)
        if done:
            return done
    context = _paint_look(job, row) | {"form": form, "strike_form": strike_form}
    status = strike_form.status if strike else form.status
    return page(request, "intake/paint.html", context, status=status)


def _accept(request, job, row):
    def act(told, by):
        actions.accept_paint(job=job, panel=row.code, strokes=told["strokes"], by=by, now=clock.now())
        messages.success(request, "Accepted in writing: the panel is free.")
        return reverse("intake", args=[job.pk])

    return act


def _strike_paint(request, job, row):
    def act(told, by):
        for note in PaintNote.objects.unaccepted(job).filter(panel=row):
            actions.strike_paint(paint_note=note, why=told["why"], by=by, now=clock.now())
        messages.success(request, "The note is struck out; the reason stays on the record.")
        return reverse("intake", args=[job.pk])

    return act


def _paint_look(job, row) -> dict:
    body, language = body_of(job.body), job.workshop.language
    notes = [note for note in PaintNote.objects.standing(job) if note.panel_id == row.pk]
    waiting = PaintNote.objects.unaccepted(job).filter(panel=row).exists()
    consent = (
        Consent.objects.filter(job=job, kind=Consent.Kind.PAINT, panel=row).select_related("strokes").last()
    )
    return {
        "here": "cars",
        "job": job,
        "panel": row,
        "name": panel_name(body, row.code, language),
        "notes": [
            {"row": note, "said": paint.concern(note.kind, note.dried, note.painted_on)} for note in notes
        ],
        "waiting": waiting,
        "text": agreement.paint_text(job, row) if waiting else "",
        "consent": consent,
        "signature": drawn(consent.strokes.value) if consent else "",
        "svg": mark_safe(
            draw_sheet(body, panels={}, size="medium", here=row.code, ids="sheet", language=language)
        ),
    }
