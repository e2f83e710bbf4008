"""A car comes in: who, which car, in what state."""

from datetime import timedelta

import pytest

from shop.intake.actions import take_in
from shop.models import Entry, Job, Private, SearchKey, Vehicle
from shop.people.identity import SignedIn
from shop.reasons import Refused
from shop.record.actions import body_of
from tests import make
from tests.make import NOW, VIN

pytestmark = pytest.mark.django_db
GOOD = "1M8GDM9AXKP042788"


@pytest.fixture
def shop():
    shop = make.workshop()
    for kind, path in (
        ("plan", "plans/builtin.toml"),
        ("body", "bodies/sedan.toml"),
        ("roles", "roles.toml"),
    ):
        make.document(shop, kind, path)
    return shop


@pytest.fixture
def dora(shop):
    return SignedIn(make.person(shop, "Dora", "desk"))


def come_in(shop, by, **rest):
    given = {
        "name": "Ana Berg",
        "phone": "+34 600 123 456",
        "mail": "ana@example.com",
        "vin": VIN,
        "plate": "qs 12 abc",
        "model": "Four-door sedan",
        "colour": "grey",
        "odometer_km": 41200,
    }
    return take_in(workshop=shop, by=by, now=rest.pop("now", NOW), **(given | rest))


def codes(caught):
    return [reason.code for reason in caught.value.reasons]


def test_a_car_gets_its_rows_its_book_and_its_keys(shop, dora):
    job = come_in(shop, dora)
    assert job.number == "26-0001"
    assert job.vehicle.vin == VIN
    assert job.vehicle.plate_text == "QS 12 ABC"
    hood = job.vehicle.panels.get(code="hood")
    assert hood.material == "metal"
    assert hood.edges.get(code="front-left").kind == "corner"
    assert job.vehicle.panels.count() == len({panel.code for panel in job.vehicle.panels.all()})
    assert job.vehicle.panels.filter(code="door-front-right").exists()
    entry = Entry.objects.get(book__job=job)
    assert (entry.number, entry.verb, entry.proven) == (1, "take_in", "signed_in")
    keys = set(SearchKey.objects.filter(vehicle=job.vehicle).values_list("kind", flat=True))
    assert {"vin", "plate", "name", "phone"} <= keys


def test_nothing_about_a_person_is_in_the_book(shop, dora):
    job = come_in(shop, dora, name="Zofia Łęcka", address="7 Rope Walk\nHarbourton")
    text = Entry.objects.get(book__job=job).body
    for value in ("Zofia", "Łęcka", "600", "ana@", "Rope", VIN, VIN[-6:], "QS 12"):
        assert value not in text
    said = body_of(Entry.objects.get(book__job=job))
    assert Private.objects.get(pk=said["customer"]["name"]["private"]).value == "Zofia Łęcka"


def test_everything_wrong_is_said_at_once(shop, dora):
    with pytest.raises(Refused) as caught:
        come_in(
            shop,
            dora,
            name="  ",
            phone="12",
            mail="nowhere",
            vin="SHORT",
            model="",
            colour="",
            odometer_km=-5,
            promised_at=NOW - timedelta(hours=1),
            body="zeppelin",
        )
    said = {(reason.code, reason.where) for reason in caught.value.reasons}
    assert said == {
        ("field_missing", "#id_name"),
        ("field_wrong", "#id_phone"),
        ("field_wrong", "#id_mail"),
        ("vin_length", "#id_vin"),
        ("vin_letters", "#id_vin"),
        ("field_missing", "#id_model"),
        ("field_missing", "#id_colour"),
        ("field_wrong", "#id_odometer"),
        ("field_wrong", "#id_promised"),
        ("field_wrong", "#id_body"),
    }
    assert not Vehicle.objects.exists()
    assert not Job.objects.exists()
    assert not Private.objects.exists()
