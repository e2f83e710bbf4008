"""The search keys of a car, kept beside its rows and rewritten whenever one of them changes."""

from collections.abc import Iterator

from shop.intake import keys
from shop.intake.customers import text_of
from shop.intake.models import SearchKey


def rewrite_keys(vehicle) -> None:
    """Keys for number, last six, plate, and the names and phones of all its owners, this one and earlier.

    Keys of a certificate belong to the certificate: they are written with it and stay.
    """
    found = set(_of_car(vehicle))
    for ownership in vehicle.ownerships.select_related("customer__name", "customer__phone"):
        found |= set(_of_owner(ownership.customer, vehicle.workshop.country))
    SearchKey.objects.filter(vehicle=vehicle).exclude(kind=keys.CERTIFICATE).delete()
    SearchKey.objects.bulk_create(
        SearchKey(workshop_id=vehicle.workshop_id, vehicle=vehicle, kind=kind, key=key)
        for kind, key in sorted(found)
    )


def _of_car(vehicle) -> Iterator[keys.Key]:
    yield from keys.vin_keys(vehicle.vin) if vehicle.vin else keys.chassis_keys(vehicle.chassis)
    yield from keys.plate_keys(text_of(vehicle.plate))


def _of_owner(customer, country: str) -> Iterator[keys.Key]:
    yield from keys.name_keys(text_of(customer.name))
    yield from keys.phone_keys(text_of(customer.phone), country)
