"""Looking a car over: damage on the sheet, doubtful paint, and the customer's signature under it."""

from django.contrib import messages
from django.db.models import Count
from django.http import HttpResponseBadRequest
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse

from shop import clock
from shop.intake import actions, agreement, paint
from shop.intake.devices import tried
from shop.intake.forms import AgreementForm, MarkForm, PaintForm, PlaceForm, ReasonForm
from shop.intake.found_sheet import found_sheet
from shop.intake.gauge import gauged
from shop.intake.models import Consent, Mark, PaintNote
from shop.intake.names import body_of, panel_name
from shop.intake.strokes import drawn
from shop.intake.views_arrival import job_for
from shop.pages import page
from shop.people.desk import settle
from shop.people.doors import DESK, DESK_SENDS_ON, staff
from shop.photos.actions import shelve
from shop.photos.models import Photo


@staff(*DESK, posts=True)
def intake(request, job):
    """One page, three forms; `act` says which of them was sent."""
    job = job_for(request, job)
    act = request.POST.get("act", "")
    forms = _forms(request, job, act)
    if request.method == "POST":
        if act not in ACTS:
            return HttpResponseBadRequest("No such form.", content_type="text/plain")
        done = settle(request, forms[act], ACTS[act](request, job))
        if done:
            return done
    status = forms[act].status if act else 200
    return page(request, "intake/intake.html", _look(job) | forms_named(forms), status=status)


def forms_named(forms: dict) -> dict:
    return {f"{name}_form": form for name, form in forms.items()}


def _forms(request, job, act: str) -> dict:
    body = body_of(job.body)
    panels = [(panel.code, panel_name(body, panel.code, job.workshop.language)) for panel in body.panels]
    sent = {name: request.POST if act == name else None for name in ACTS}
    files = request.FILES if act == "mark" else None
    text = agreement.intake_text(job)
    return {
        "mark": MarkForm(sent["mark"], files, prefix="mark", panels=panels),
        "paint": PaintForm(sent["paint"], prefix="paint", panels=panels, initial=_suspect(request, panels)),
        "agree": AgreementForm(sent["agree"], prefix="agree", initial={"text_seen": text}),
    }


def _suspect(request, panels) -> dict:
    """`?suspect=roof` starts a note about a panel that stood out under the gauge."""
    code = request.GET.get("suspect", "")
    return {"panel": code, "kind": "suspect"} if code in dict(panels) else {}


def _keep_mark(request, job):
    def act(told, by):
        now = clock.now()
        photo = told["photo"]
        photos = (
            [shelve(photo, workshop=job.workshop, by=by, now=now, klass=Photo.Klass.EVIDENCE, job=job)]
            if photo
            else []
        )
        given = {name: told[name] for name in ("panel", "kind", "x_mil", "y_mil", "note")}
        actions.mark_damage(job=job, **given, photos=photos, by=by, now=now)
        return reverse("intake", args=[job.pk])

    return act


def _keep_paint(request, job):
    def act(told, by):
        given = {name: told[name] for name in ("panel", "kind", "dried", "painted_on", "note")}
        actions.note_paint(job=job, **given, by=by, now=clock.now())
        return reverse("paint", args=[job.pk, told["panel"]])

    return act


def _agree(request, job):
    def act(told, by):
        actions.agree_intake(
            job=job,
            strokes=told["strokes"],
            counter_strokes="" if told["counter"] == "[]" else told["counter"],
            said=told["said_at_desk"],
            text_seen=told["text_seen"],
            by=by,
            now=clock.now(),
        )
        messages.success(request, "Signed. Next is the set-out.")
        return reverse("intake", args=[job.pk])

    return act


ACTS = {"mark": _keep_mark, "paint": _keep_paint, "agree": _agree}


def _look(job) -> dict:
    body, language = body_of(job.body), job.workshop.language
    marks = list(Mark.objects.standing(job))
    notes = list(PaintNote.objects.standing(job))
    open_notes = {note.pk for note in PaintNote.objects.unaccepted(job)}
    consent = (
        Consent.objects.filter(job=job, kind=Consent.Kind.INTAKE)
        .select_related("strokes", "counter_strokes", "person")
        .last()
    )
    measured, tries = gauged(job), tried(job)
    text = agreement.intake_text(job, marks=marks, notes=notes, measured=measured, tries=tries)
    return {
        "here": "cars",
        "job": job,
        "svg": found_sheet(
            job,
            marks,
            notes,
            open_notes,
            # Panels lead nowhere, but marks do: the drawing is a group, not a picture.
            links=lambda code: "",
            size="large",
            width=600,
            title="Body sheet: touch a panel where the damage is",
        ),
        "marks": [
            {
                "row": mark,
                "number": number,
                "panel": panel_name(body, mark.panel.code, language),
                "photos": [kept.photo for kept in mark.photos.all()],
                "move_form": PlaceForm(
                    prefix=f"m{mark.pk}", initial={"x_mil": mark.x_mil, "y_mil": mark.y_mil}
                ),
                "strike_form": ReasonForm(prefix=f"s{mark.pk}"),
            }
            for number, mark in enumerate(marks, 1)
        ],
        "notes": [
            {
                "row": note,
                "panel": panel_name(body, note.panel.code, language),
                "said": paint.concern(note.kind, note.dried, note.painted_on),
                "open": note.pk in open_notes,
            }
            for note in notes
        ],
        "consent": consent,
        "signature": drawn(consent.strokes.value) if consent else "",
        "consent_old": bool(consent) and not consent.text.startswith(text),
        "text": text,
        "our_signature": _counter(consent),
        "gauged": measured,
        "out": [one for one in measured if one.stands_out],
        "tried": tries,
        "set_out": job.fittings.filter(ended_at__isnull=True).aggregate(n=Count("panel", distinct=True))["n"],
    }


def _counter(consent) -> str:
    counter = consent.counter_strokes if consent else None
    return drawn(counter.value) if counter and counter.value else ""


@staff(*DESK, posts=True, answers=DESK_SENDS_ON)
def mark(request, job, mark):
    """A mark is moved to where it was dragged, or struck out."""
    job = job_for(request, job)
    row = get_object_or_404(
        Mark.objects.select_related("job__workshop"), pk=mark, job=job, struck_at__isnull=True
    )
    strike = request.POST.get("act") == "strike"
    made, prefix = (ReasonForm, "s") if strike else (PlaceForm, "m")
    form = made(request.POST or None, prefix=f"{prefix}{row.pk}")

    def act(told, by):
        if strike:
            actions.strike_mark(mark=row, why=told["why"], by=by, now=clock.now())
        else:
            actions.move_mark(mark=row, x_mil=told["x_mil"], y_mil=told["y_mil"], by=by, now=clock.now())
        return reverse("intake", args=[job.pk])

    if request.method == "POST":
        done = settle(request, form, act)
        if done:
            return done
        context = {"here": "cars", "job": job, "form": form, "title": "The mark was not changed"}
        return page(request, "intake/not_done.html", context, status=form.status)
    return redirect(reverse("intake", args=[job.pk]) + f"#mark-{row.pk}")
