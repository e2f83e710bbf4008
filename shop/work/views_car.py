"""The car at the desk: the whole of one job, and its hand-over."""

import uuid

from django.shortcuts import redirect

from shop import clock
from shop.pages import page
from shop.people import doors
from shop.people.identity import SignedIn
from shop.people.pin import prove
from shop.reasons import Refused
from shop.record.once import once
from shop.work import leaving, places, told
from shop.work.floor import Floor
from shop.work.forms import HandOverForm
from shop.work.views_bay import car_context, job_for

WORDS = (
    "I have got my car back, filmed as set out in the certificate, and I have been told how to care for it "
    "in its first days."
)


@doors.bay
def car(request, job):
    job = job_for(request, job)
    floor = Floor(job)
    context = car_context(request, floor, base="/cars") | {
        "here": "cars",
        "customer": job.customer if request.person else None,
        "marks": list(job.marks.filter(struck_at__isnull=True).select_related("panel")),
        "certificate": getattr(job, "certificate", None),
        "set_out_url": f"/cars/{job.pk}/set-out/",
    }
    return page(request, "work/car.html", context)


@doors.staff(*doors.DESK, posts=True)
def hand_over(request, job):
    job = job_for(request, job)
    if hasattr(job, "hand_over"):
        return redirect("car", job=job.pk)
    today = clock.now().astimezone(told.zone(Floor(job))).date()
    form = HandOverForm(request.POST or None, initial={"on": today, "odometer_km": job.odometer_km})
    if request.method == "POST" and form.is_valid():
        return _hand_over(request, job, form)
    return _page(request, job, form, status=422 if request.method == "POST" else 200)


def _hand_over(request, job, form):
    now = clock.now()
    said = form.cleaned_data
    try:
        by = prove(request.person, said["pin"], now=now, tablet=request.tablet)
        answer = once(
            key=request.POST.get("key") or uuid.uuid4().hex,
            workshop=request.workshop,
            body={"job": job.pk, "on": said["on"].isoformat(), "km": said["odometer_km"]},
            now=now,
            act=lambda: _act(job, said, by, now),
        )
    except Refused as refusal:
        return _page(request, job, form, reasons=refusal.reasons, status=409)
    return redirect(answer["to"])


def _act(job, said, by, now) -> dict:
    leaving.hand_over(
        job=job,
        on=said["on"],
        odometer_km=said["odometer_km"],
        strokes=said["strokes"],
        text=WORDS,
        by=by,
        now=now,
    )
    return {"to": f"/cars/{job.pk}/certificate/"}


def _page(request, job, form, *, reasons=None, status=200):
    now = clock.now()
    by = SignedIn(request.person, request.tablet)
    today = now.astimezone(told.zone(Floor(job))).date()
    shown = reasons or [
        reason
        for reason in leaving.hand_over_reasons(job=job, by=by, on=today, signed=True, now=now)
        if reason.code != "not_allowed"
    ]
    context = {
        "here": "cars",
        "job": job,
        "form": form,
        "reasons": places.shown(shown, job),
        "words": WORDS,
        "key": request.POST.get("key") or uuid.uuid4().hex,
    }
    return page(request, "work/hand_over.html", context, status=status)
