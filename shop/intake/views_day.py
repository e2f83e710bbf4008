"""Cars to come and times promised, at the desk."""

from zoneinfo import ZoneInfo

from django.contrib import messages
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache

from shop import clock
from shop.intake import actions
from shop.intake.expected import Expected
from shop.intake.forms_day import FORMAT, ExpectForm, MoveForm, OffForm, PromiseForm
from shop.intake.models import Job, Vehicle
from shop.pages import page
from shop.people.desk import settle
from shop.people.doors import DESK, staff
from shop.templatetags.words import moment

HERE = {"here": "cars"}


@staff(*DESK, posts=True)
@never_cache
def expect(request):
    """A car is to come; `?vehicle=` names one that was here before."""
    workshop, vehicle = request.workshop, _vehicle(request)
    form = ExpectForm(request.POST or None, zone=workshop.zone, known=vehicle is not None)

    def act(told, by):
        given = {name: told[name] for name in ("name", "phone", "mail", "car", "what") if name in told}
        row = actions.expect_car(
            workshop=workshop, vehicle=vehicle, expected_at=told["expected"], **given, by=by, now=clock.now()
        )
        messages.success(request, f"Expected on {moment(row.expected_at, workshop.zone)}: {row.car_words}.")
        return reverse("cars")

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    return page(request, "intake/expect.html", HERE | {"form": form, "vehicle": vehicle}, status=form.status)


@staff(*DESK, posts=True)
@never_cache
def expected(request, expected):
    """One car to come: at another time, or not at all."""
    row = get_object_or_404(Expected.objects.to_come(request.workshop), pk=expected)
    zone = request.workshop.zone
    first = {"expected": row.expected_at.astimezone(ZoneInfo(zone)).strftime(FORMAT)}
    off = request.POST.get("act") == "off"
    move = MoveForm(None if off else request.POST or None, zone=zone, initial=first)
    why = OffForm(request.POST if off else None)

    def act(told, by):
        now = clock.now()
        if off:
            actions.call_off_expected(expected=row, why=told["why"], by=by, now=now)
            messages.success(request, f"{row.car_words}: called off.")
        else:
            actions.move_expected(expected=row, expected_at=told["expected"], by=by, now=now)
            messages.success(request, f"{row.car_words}: expected on {moment(told['expected'], zone)}.")
        return reverse("cars")

    if request.method == "POST" and (done := settle(request, why if off else move, act)):
        return done
    context = HERE | {"row": row, "move": move, "why": why}
    return page(request, "intake/expected.html", context, status=max(move.status, why.status))


@staff(*DESK, posts=True)
@never_cache
def promise(request, job):
    row = get_object_or_404(Job.objects.for_page(), pk=job, workshop=request.workshop)
    zone, before = request.workshop.zone, row.promised_at
    first = {"promised": before.astimezone(ZoneInfo(zone)).strftime(FORMAT)} if before else {}
    form = PromiseForm(request.POST or None, zone=zone, first=before is None, initial=first)

    def act(told, by):
        why = told.get("why", "")
        actions.promise_time(job=row, promised_at=told["promised"], why=why, by=by, now=clock.now())
        until = moment(told["promised"], zone) if told["promised"] else "no time any more"
        messages.success(request, f"Job {row.number} is promised for {until}.")
        return reverse("cars")

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    return page(request, "intake/promise.html", HERE | {"job": row, "form": form}, status=form.status)


def _vehicle(request) -> Vehicle | None:
    wanted = request.GET.get("vehicle", "")
    if not (wanted.isascii() and wanted.isdigit()):
        return None
    return get_object_or_404(Vehicle.objects.for_page(), pk=wanted, workshop=request.workshop)
