"""What changes when a car comes in. Marks, paint and what the customer signs have files of their own."""

from django.db import transaction

from shop.documents.models import Document
from shop.documents.rights import must_be_allowed
from shop.intake import arrival
from shop.intake import vin as vins
from shop.intake.agreement import accept_paint, agree_intake
from shop.intake.customers import customer_said, owner_of, put_values, text_of
from shop.intake.day import call_off_expected, came, expect_car, move_expected, promise_time
from shop.intake.devices import try_devices
from shop.intake.expected import Expected
from shop.intake.gauge import measure_paint, strike_spot
from shop.intake.jobs import held, hold_workshop, next_number
from shop.intake.marks import mark_damage, move_mark, note_paint, strike_mark, strike_paint
from shop.intake.models import Customer, Job, Vehicle
from shop.intake.names import body_of
from shop.intake.panels import make_panels
from shop.intake.register import rewrite_keys
from shop.intake.typed import Typed
from shop.intake.vehicles import new_car, put_identity, put_looks, vehicle_said
from shop.people.identity import By
from shop.reasons import Reason
from shop.record.actions import open_book, write
from shop.record.chain import instant

__all__ = [
    "accept_paint",
    "agree_intake",
    "call_off_expected",
    "cancel_job",
    "change_customer",
    "change_vehicle",
    "expect_car",
    "mark_damage",
    "measure_paint",
    "move_expected",
    "move_mark",
    "note_paint",
    "promise_time",
    "strike_mark",
    "strike_paint",
    "strike_spot",
    "take_in",
    "try_devices",
]


@transaction.atomic
def take_in(
    *,
    workshop,
    name,
    phone="",
    mail="",
    address="",
    vin="",
    vin_confirmed="",
    chassis="",
    chassis_reason="",
    plate="",
    model,
    colour,
    colour_code="",
    body="sedan",
    odometer_km=None,
    odometer_confirmed="",
    promised_at=None,
    expected: Expected | None = None,
    by: By,
    now,
) -> Job:
    """A car comes in. A VIN that is known here is that car again, with a new owner where the name differs.

    `vin_confirmed`: why a failing check digit is right all the same. `promised_at`: an aware moment or None.
    `expected`: the car that was expected and now came.
    Refused with every reason at once; each names its field (`#vin`).
    """
    must_be_allowed(by, "take_in", workshop=workshop)
    number = next_number(workshop, now)
    typed = Typed()
    owner = arrival.read_owner(typed, name=name, phone=phone, mail=mail, address=address)
    known = Vehicle.objects.known(workshop, vin=vins.clean(str(vin or "")), chassis=chassis)
    car = arrival.read_car(
        typed,
        vin=vin,
        vin_confirmed=vin_confirmed or (known.vin_note if known else ""),
        chassis=chassis,
        chassis_reason=chassis_reason or (known.chassis_reason if known else ""),
        plate=plate or (known.plate_text if known else ""),
        model=model,
        colour=colour,
        colour_code=colour_code or (known.colour_code if known else ""),
    )
    last_km = known.last_odometer_km() if known else None
    km, km_note = arrival.read_odometer(typed, odometer_km, odometer_confirmed, last_km=last_km)
    promised = arrival.read_promised(typed, promised_at, now=now)
    plan = Document.objects.in_force(workshop, Document.Kind.PLAN)
    shape = Document.objects.in_force(workshop, Document.Kind.BODY, str(body))
    _must_fit(typed, known, plan, shape, body)
    typed.stop()

    if known:
        # A car known only from an older paper has a guessed body: the first visit says which it is.
        known.body = shape.name
    vehicle = put_looks(known, car) if known else new_car(workshop, car, shape)
    customer, changed = owner_of(workshop, vehicle, owner, now, guest=expected.customer if expected else None)
    make_panels(vehicle, body_of(shape))
    rewrite_keys(vehicle)
    job = Job.objects.create(
        workshop=workshop,
        number=number,
        vehicle=vehicle,
        customer=customer,
        plan=plan,
        body=shape,
        odometer_km=km,
        arrived_at=now,
        promised_at=promised,
    )
    if expected:
        came(expected, job)
    open_book(workshop, job)
    said = _job_said(job) | {"returning": known is not None, "new_owner": changed, "odometer_note": km_note}
    write(workshop=workshop, job=job, verb="take_in", body=said, by=by, now=now)
    return job


@transaction.atomic
def change_customer(*, customer, name=None, phone=None, mail=None, address=None, by: By, now) -> Customer:
    """Corrects what is known of a customer; None leaves a value as it is. Papers keep the values they have."""
    must_be_allowed(by, "take_in", workshop=customer.workshop)
    typed = Typed()
    given = {"name": name, "phone": phone, "mail": mail, "address": address}
    before = {field: text_of(getattr(customer, field)) for field in given}
    owner = arrival.read_owner(
        typed, **{field: before[field] if new is None else new for field, new in given.items()}
    )
    typed.stop()
    changed = [field for field in given if getattr(owner, field) != before[field]]
    if not changed:
        return customer
    put_values(customer, owner, changed)
    for vehicle in Vehicle.objects.filter(ownerships__customer=customer).distinct():
        rewrite_keys(vehicle)
    said = {"changed": changed, "customer": customer_said(customer)}
    write(workshop=customer.workshop, verb="change_customer", body=said, by=by, now=now)
    return customer


@transaction.atomic
def change_vehicle(
    *,
    vehicle,
    vin=None,
    vin_confirmed="",
    chassis=None,
    chassis_reason="",
    plate=None,
    model=None,
    colour=None,
    colour_code=None,
    by: By,
    now,
) -> Vehicle:
    """Corrects what is known of a car; None leaves a value as it is."""
    must_be_allowed(by, "take_in", workshop=vehicle.workshop)
    hold_workshop(vehicle.workshop)
    typed = Typed()
    identity = vin is not None or chassis is not None
    car = arrival.read_car(
        typed,
        vin=vin if identity else vehicle.vin,
        vin_confirmed=vin_confirmed if identity else vehicle.vin_note,
        chassis=chassis if identity else vehicle.chassis,
        chassis_reason=chassis_reason if identity else vehicle.chassis_reason,
        plate=text_of(vehicle.plate) if plate is None else plate,
        model=vehicle.model if model is None else model,
        colour=vehicle.colour if colour is None else colour,
        colour_code=vehicle.colour_code if colour_code is None else colour_code,
    )
    other = Vehicle.objects.known(vehicle.workshop, vin=car.vin, chassis=car.chassis)
    if other and other.pk != vehicle.pk:
        typed.wrong("Another car here already has this number.", "#vin", "already_here")
    typed.stop()
    put_identity(vehicle, car)
    put_looks(vehicle, car)
    rewrite_keys(vehicle)
    body = {"vehicle": vehicle_said(vehicle)}
    write(workshop=vehicle.workshop, verb="change_vehicle", body=body, by=by, now=now)
    return vehicle


@transaction.atomic
def cancel_job(*, job, why, by: By, now) -> Job:
    """The car goes back unfilmed. Refused once film has been laid on it."""
    must_be_allowed(by, "take_in", workshop=job.workshop)
    job = held(job)
    typed = Typed()
    why = typed.line(why, name="The reason", most=300, where="#why")
    if not why:
        typed.reasons.append(Reason("reason_missing", "Say why the job is called off.", where="#why"))
    if job.fittings.filter(checklists__stage="tack", checklists__outcomes__isnull=False).exists():
        typed.wrong("Film has been laid: finish the job, or take the film off first.", code="job_closed")
    typed.stop()
    job.fittings.filter(ended_at__isnull=True).update(ended_at=now, ended_as="called_off")
    # A repair that was called off leaves the film of before on the car.
    films = job.fittings.model.objects
    films.filter(replaced_by__job=job, ended_as="filmed_again").exclude(job=job).update(
        ended_at=None, ended_as=""
    )
    job.cancelled_at = now
    job.save(update_fields=["cancelled_at"])
    write(workshop=job.workshop, job=job, verb="cancel_job", body={"why": why}, by=by, now=now)
    return job


def _must_fit(typed, known, plan, shape, body) -> None:
    if plan is None:
        typed.missing("No plan is published: the owner publishes one under Shop, Documents.")
    if shape is None:
        typed.wrong("There is no body sheet of that name here.", "#body")
    if known is None:
        return
    if known.body != str(body) and known.jobs.exists():
        typed.wrong(f"This car is known here with the body “{known.body}”.", "#body")
    running = known.jobs.in_the_shop(known.workshop).first()
    if running:
        text = f"This car is already here, as job {running.number}."
        typed.reasons.append(Reason("already_here", text, where=f"/cars/{running.pk}/"))


def _job_said(job) -> dict:
    return {
        "job": job.pk,
        "number": job.number,
        "odometer_km": job.odometer_km,
        "promised_at": instant(job.promised_at) if job.promised_at else None,
        "plan": job.plan.digest,
        "body": {"name": job.body.name, "digest": job.body.digest},
        "vehicle": vehicle_said(job.vehicle),
        "customer": customer_said(job.customer),
    }
