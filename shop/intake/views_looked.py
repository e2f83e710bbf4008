"""Paint gauge, lamps and sensors, and the intake sheet on paper."""

from django.contrib import messages
from django.http import HttpResponseBadRequest
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache

from shop import clock
from shop.intake import actions
from shop.intake.devices import When, tried
from shop.intake.forms import ReasonForm
from shop.intake.forms_looked import SpotForm, TriedForm
from shop.intake.gauge import differs_um10, gauged, units_of
from shop.intake.looked_over import PaintSpot
from shop.intake.names import body_of, panel_name
from shop.intake.sheet_paper import intake_sheet
from shop.intake.views_arrival import job_for
from shop.pages import page
from shop.people.desk import settle
from shop.people.doors import DESK, staff
from shop.pressed import pressed
from shop.units import format_um10

METAL = "metal"


@staff(*DESK, posts=True)
def gauge(request, job):
    """Spots measured, one after the other; panels that stand out say so."""
    job = job_for(request, job)
    system = units_of(job.workshop)
    strike = request.POST.get("act") == "strike"
    if strike and not _number(request.POST.get("spot", "")):
        return HttpResponseBadRequest("No such spot.", content_type="text/plain")
    row = _spot(request, job) if strike else None
    sent = request.POST if request.method == "POST" else None
    form = SpotForm(None if strike else sent, prefix="spot", panels=_metal(job), system=system)
    strike_form = ReasonForm(sent, prefix=f"s{row.pk}") if row else None
    if request.method == "POST":
        done = settle(request, strike_form or form, _strike(job, row) if row else _measure(job))
        if done:
            return done
    shown = gauged(job)
    for one in shown:
        one.rows = [
            (spot, said, ReasonForm(prefix=f"s{spot.pk}"))
            for spot, said in zip(one.spots, one.said, strict=True)
        ]
    context = {
        "here": "cars",
        "job": job,
        "form": form,
        "refused": strike_form,
        "gauged": shown,
        "differs": format_um10(differs_um10(job.plan.body), system),
    }
    return page(request, "intake/gauge.html", context, status=(strike_form or form).status)


def _metal(job) -> list[tuple[str, str]]:
    """Panels a gauge can read, in the order of the body."""
    body, language = body_of(job.body), job.workshop.language
    metal = set(
        job.vehicle.panels.filter(material=METAL, replaced_at__isnull=True).values_list("code", flat=True)
    )
    return [(p.code, panel_name(body, p.code, language)) for p in body.panels if p.code in metal]


def _spot(request, job) -> PaintSpot:
    rows = PaintSpot.objects.standing(job).select_related("job__workshop", "panel")
    return get_object_or_404(rows, pk=_number(request.POST["spot"]))


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 19 else 0


def _measure(job):
    def act(told, by):
        actions.measure_paint(
            job=job,
            panel=told["panel"],
            readings_um10=told["readings"],
            note=told["note"],
            by=by,
            now=clock.now(),
        )
        return reverse("gauge", args=[job.pk])

    return act


def _strike(job, row):
    def act(told, by):
        actions.strike_spot(spot=row, why=told["why"], by=by, now=clock.now())
        return reverse("gauge", args=[job.pk])

    return act


@staff(*DESK, posts=True)
def devices(request, job, when):
    """Lamps, sensors, cameras and washers, tried before or after."""
    job = job_for(request, job)
    form = TriedForm(request.POST if request.method == "POST" else None)

    def act(told, by):
        actions.try_devices(job=job, when=when, found=form.found, notes=form.notes, by=by, now=clock.now())
        messages.success(request, "Kept. What was not tried yet can be added any time.")
        return reverse(f"devices-{when}", args=[job.pk])

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    context = {
        "here": "cars",
        "job": job,
        "form": form,
        "when": When(when),
        "tried": tried(job),
    }
    return page(request, "intake/devices.html", context, status=form.status)


@staff(*DESK)
@never_cache
def sheet_pdf(request, job):
    job = job_for(request, job)
    return pressed(intake_sheet(job, now=clock.now()), name=f"intake-{job.number}")
