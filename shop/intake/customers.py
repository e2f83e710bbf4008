"""Writing who a car belongs to. Values about a person are rows of their own; old ones stay for old papers."""

from zoneinfo import ZoneInfo

from shop.intake.models import Customer, Ownership
from shop.record.actions import keep_private, told

VALUES = ("name", "phone", "mail", "address")


def owner_of(workshop, vehicle, owner, now, guest=None) -> tuple[Customer, bool]:
    """The customer, and whether the car changed hands since it was here.

    `guest` is the customer under whom the car was expected: the same person where the name is the same.
    """
    today = now.astimezone(ZoneInfo(workshop.zone)).date()
    last = Ownership.objects.filter(vehicle=vehicle, until__isnull=True).first()
    if last and text_of(last.customer.name).casefold() == owner.name.casefold():
        given = [field for field in ("phone", "mail", "address") if getattr(owner, field)]
        put_values(last.customer, owner, given)
        return last.customer, False
    if last:
        last.until = max(today, last.since)
        last.save(update_fields=["until"])
    customer = Customer(workshop=workshop, language=workshop.language, since=now)
    if guest and text_of(guest.name).casefold() == owner.name.casefold():
        customer = guest
    put_values(customer, owner, [field for field in VALUES if getattr(owner, field)])
    Ownership.objects.create(vehicle=vehicle, customer=customer, since=today)
    return customer, last is not None


def put_values(customer, owner, fields) -> None:
    """New rows for new values: papers already issued go on pointing at the old ones."""
    for field in fields:
        value = getattr(owner, field)
        kept = getattr(customer, field, None) if getattr(customer, f"{field}_id") else None
        if text_of(kept) != value:
            setattr(customer, field, keep_private(customer.workshop, value) if value else None)
    customer.save()


def customer_said(customer) -> dict:
    return {"customer": customer.pk} | {field: told(getattr(customer, field)) for field in VALUES}


def text_of(private) -> str:
    """The value, or nothing where there is none or it was erased."""
    return private.value if private else ""
