"""The search keys of a car, kept beside its rows and rewritten whenever one of them changes."""

import unicodedata

from shop.intake import vin as vins
from shop.intake.customers import text_of
from shop.intake.models import SearchKey

_LONGEST = 80


def rewrite_keys(vehicle) -> None:
    """Keys for number, last six, plate, and the names and phones of all its owners, this one and earlier."""
    found = set(_of_car(vehicle))
    for ownership in vehicle.ownerships.select_related("customer__name", "customer__phone"):
        found |= set(_of_owner(ownership.customer))
    SearchKey.objects.filter(vehicle=vehicle).delete()
    SearchKey.objects.bulk_create(
        SearchKey(workshop_id=vehicle.workshop_id, vehicle=vehicle, kind=kind, key=key[:_LONGEST])
        for kind, key in sorted(found)
        if key
    )


def _of_car(vehicle):
    number = vins.forgiving(vehicle.identity)
    yield "vin" if vehicle.vin else "chassis", number
    yield "last_six", number[-6:]
    yield "plate", _signs(text_of(vehicle.plate))


def _of_owner(customer):
    for word in _letters(text_of(customer.name)).split():
        yield "name", word
    yield "phone", "".join(sign for sign in text_of(customer.phone) if sign.isdigit())[-9:]


def _signs(text: str) -> str:
    return "".join(sign for sign in text.upper() if sign.isalnum())


def _letters(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text.casefold())
    return "".join(sign for sign in plain if not unicodedata.combining(sign))
