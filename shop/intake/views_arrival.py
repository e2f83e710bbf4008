"""A car comes in, and what is known of it is put right later."""

from django.contrib import messages
from django.shortcuts import get_object_or_404
from django.urls import reverse

from shop import clock
from shop.intake import actions
from shop.intake import vin as vins
from shop.intake.expected import Expected
from shop.intake.forms import (
    ArrivalForm,
    CorrectionForm,
    ReasonForm,
    customer_values,
    expected_values,
    known_values,
)
from shop.intake.models import Job, Vehicle
from shop.pages import page
from shop.people.desk import settle
from shop.people.doors import DESK, staff

PARTS = frozenset({"vin"})
CUSTOMER = ("name", "phone", "mail", "address")
CAR = ("vin", "vin_confirmed", "chassis", "chassis_reason", "plate", "model", "colour", "colour_code")


def job_for(request, pk: int) -> Job:
    """Fetched and authorised in one call: another workshop's job is not there."""
    return get_object_or_404(Job.objects.for_page(), pk=pk, workshop=request.workshop)


@staff(*DESK, posts=True)
def new(request):
    """The form for a car that comes in; `?vin=` starts it from a car known here, `?part=vin` judges a VIN.

    `?expected=` starts it from a car that was expected, which has come with that.
    """
    workshop = request.workshop
    due = expected_for(request)
    typed = vins.clean((request.POST or request.GET).get("vin", ""))
    known = Vehicle.objects.known(workshop, vin=typed)
    start = known_values(known, workshop) if known and not request.POST else {"vin": typed}
    if due:
        start = expected_values(due, workshop) | {name: value for name, value in start.items() if value}
    form = ArrivalForm(request.POST or None, workshop=workshop, initial=start)

    def act(told, by):
        given = {name: told[name] for name in (*CUSTOMER, *CAR, "odometer_confirmed", "body")}
        job = actions.take_in(
            workshop=workshop,
            **given,
            odometer_km=told["odometer"],
            promised_at=told["promised"],
            expected=due,
            by=by,
            now=clock.now(),
        )
        messages.success(request, f"Job {job.number} is open. Now look the car over.")
        return reverse("intake", args=[job.pk])

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    context = {"here": "cars", "form": form, "known": known, "verdict": vin_verdict(typed, known)}
    context["due"] = due
    return page(request, "intake/new.html", context, parts=PARTS, status=form.status)


def expected_for(request) -> Expected | None:
    """The car this arrival was opened from, if it is still to come."""
    wanted = request.GET.get("expected", "")
    if not (wanted.isascii() and wanted.isdigit()):
        return None
    return get_object_or_404(Expected.objects.to_come(request.workshop), pk=wanted)


def vin_verdict(typed: str, known: Vehicle | None) -> dict:
    """What to say of a VIN as it stands in the field: nothing before it is typed."""
    if not typed:
        return {}
    wrong = vins.problems(typed)
    if not wrong:
        last = known.jobs.order_by("-pk").first() if known else None
        return {"good": "17 characters, and the check digit fits.", "known": known, "last": last}
    return {"reasons": wrong, "known": known, "waivable": any(r.weight == "waivable" for r in wrong)}


@staff(*DESK, posts=True)
def change(request, job):
    """Putting right what was typed about car and owner."""
    job = job_for(request, job)
    vehicle, customer = job.vehicle, job.customer
    start = known_values(vehicle, request.workshop) | customer_values(customer)
    form = CorrectionForm(request.POST or None, initial=start)

    def act(told, by):
        now = clock.now()
        actions.change_customer(customer=customer, **{name: told[name] for name in CUSTOMER}, by=by, now=now)
        actions.change_vehicle(vehicle=vehicle, **{name: told[name] for name in CAR}, by=by, now=now)
        messages.success(request, "Changed. Papers already issued keep what they say.")
        return reverse("intake", args=[job.pk])

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    context = {"here": "cars", "job": job, "form": form}
    return page(request, "intake/change.html", context, status=form.status)


@staff(*DESK, posts=True)
def call_off(request, job):
    """The car goes back unfilmed."""
    job = job_for(request, job)
    form = ReasonForm(request.POST or None)

    def act(told, by):
        actions.cancel_job(job=job, why=told["why"], by=by, now=clock.now())
        messages.success(request, f"Job {job.number} is called off.")
        return reverse("cars")

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    context = {"here": "cars", "job": job, "form": form}
    return page(request, "intake/call_off.html", context, status=form.status)
