"""The desk's day: cars that are expected, and the time a car is promised for."""

from datetime import datetime, timedelta

from django.db import transaction

from shop.documents.rights import must_be_allowed
from shop.intake import arrival
from shop.intake.customers import customer_said, put_values
from shop.intake.expected import Expected
from shop.intake.jobs import held
from shop.intake.models import Customer, Job, Vehicle
from shop.intake.typed import Typed
from shop.people.identity import By
from shop.record.actions import write
from shop.record.chain import instant

WHAT_MOST = 200
CAR_MOST = 120
A_YEAR = timedelta(days=366)
AN_HOUR = timedelta(hours=1)


@transaction.atomic
def expect_car(
    *,
    workshop,
    expected_at: datetime,
    name: str = "",
    phone: str = "",
    mail: str = "",
    car: str = "",
    what: str = "",
    vehicle: Vehicle | None = None,
    by: By,
    now,
) -> Expected:
    """A car is to come at this time. Of one that was here before (`vehicle`) neither owner nor car are asked."""
    must_be_allowed(by, "expect_car", workshop=workshop)
    typed = Typed()
    owner = vehicle.ownerships.filter(until__isnull=True).first() if vehicle else None
    told_owner = None
    if owner is None:
        told_owner = arrival.read_owner(typed, name=name, phone=phone, mail=mail, address="")
    if vehicle is not None and vehicle.workshop_id != workshop.pk:
        typed.wrong("That car belongs to another workshop.", code="other_workshop")
    missing = "" if vehicle else "Say which car it is: “grey sedan” is enough."
    words = typed.line(car, name="The car", most=CAR_MOST, where="#car", missing=missing)
    about = typed.line(what, name="What it comes for", most=WHAT_MOST, where="#what")
    _when(typed, expected_at, now)
    typed.stop()
    if owner is None:
        customer = Customer(workshop=workshop, language=workshop.language, since=now)
        put_values(customer, told_owner, [f for f in ("name", "phone", "mail") if getattr(told_owner, f)])
    else:
        customer = owner.customer
    row = Expected.objects.create(
        workshop=workshop,
        customer=customer,
        vehicle=vehicle,
        expected_at=expected_at,
        car=words or str(vehicle),
        what=about,
        person=by.person,
        made_at=now,
    )
    body = _said(row) | {"car": row.car, "what": about, "customer": customer_said(customer)}
    write(workshop=workshop, verb="expect_car", body=body, by=by, now=now)
    return row


@transaction.atomic
def move_expected(*, expected: Expected, expected_at: datetime, by: By, now) -> Expected:
    """The car comes at another time."""
    must_be_allowed(by, "expect_car", workshop=expected.workshop)
    row, typed = _open(expected), Typed()
    _when(typed, expected_at, now)
    typed.stop()
    row.expected_at = expected_at
    row.save(update_fields=["expected_at"])
    write(workshop=row.workshop, verb="move_expected", body=_said(row), by=by, now=now)
    return row


@transaction.atomic
def call_off_expected(*, expected: Expected, why: str, by: By, now) -> Expected:
    """The car does not come."""
    must_be_allowed(by, "expect_car", workshop=expected.workshop)
    row, typed = _open(expected), Typed()
    why = typed.line(why, name="The reason", most=WHAT_MOST, where="#why")
    if not why:
        typed.wrong("Say why it does not come.", "#why", "reason_missing")
    typed.stop()
    row.called_off_at, row.called_off_why = now, why
    row.save(update_fields=["called_off_at", "called_off_why"])
    write(workshop=row.workshop, verb="call_off_expected", body=_said(row) | {"why": why}, by=by, now=now)
    return row


@transaction.atomic
def promise_time(*, job: Job, promised_at: datetime | None, why: str = "", by: By, now) -> Job:
    """When the customer is told that the car is ready; None takes the promise back. A change says why."""
    must_be_allowed(by, "promise_time", workshop=job.workshop)
    job, typed = held(job), Typed()
    before = job.promised_at
    promised = arrival.read_promised(typed, promised_at, now=now)
    why = typed.line(why, name="The reason", most=WHAT_MOST, where="#why")
    if before and before != promised and not why:
        typed.wrong("Say why it changes: the customer will ask.", "#why", "reason_missing")
    if before == promised:
        typed.wrong("It is promised for that time already.", "#promised", "already_recorded")
    typed.stop()
    job.promised_at = promised
    job.save(update_fields=["promised_at"])
    body = {
        "number": job.number,
        "before": instant(before) if before else None,
        "promised_at": instant(promised) if promised else None,
        "why": why,
    }
    write(workshop=job.workshop, job=job, verb="promise_time", body=body, by=by, now=now)
    return job


def came(expected: Expected, job: Job) -> None:
    """Inside the verb that takes the car in: what was expected is this job now."""
    row = _open(expected)
    row.job = job
    row.save(update_fields=["job"])


def _open(expected: Expected) -> Expected:
    row = (
        Expected.objects.select_for_update(of=("self",), no_key=True)
        .select_related("workshop")
        .get(pk=expected.pk)
    )
    typed = Typed()
    if row.job_id:
        typed.wrong("This car has come already.", code="already_recorded")
    if row.called_off_at:
        typed.wrong("This car was called off: enter it anew if it comes after all.", code="job_closed")
    typed.stop()
    return row


def _when(typed: Typed, expected_at: datetime, now) -> None:
    if expected_at < now - AN_HOUR:
        typed.wrong("That time is over: take the car in instead.", "#expected", "day_wrong")
    elif expected_at - now > A_YEAR:
        typed.wrong("That is more than a year away: look at the year.", "#expected", "day_wrong")


def _said(row: Expected) -> dict:
    return {"expected": row.pk, "expected_at": instant(row.expected_at)}
