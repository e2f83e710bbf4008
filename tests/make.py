"""Rows for tests. Ines fits, Marek inspects, Dora sits at the desk, Petra owns the shop, Otto is from another."""

import tomllib
from datetime import UTC, date, datetime
from pathlib import Path

import factory
from factory.django import DjangoModelFactory as Rows

from shop import models
from shop.documents.digest import digest
from shop.people import pin, tablets
from shop.record.actions import keep_private, open_book

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
PIN = "482915"
VIN = "ZZZPP41L5TR041720"
FIXTURES = Path(__file__).resolve().parent.parent / "fixtures"


class WorkshopRows(Rows):
    class Meta:
        model = models.Workshop
        skip_postgeneration_save = True

    name = "Quay Street Film Works"
    address = "4 Quay Street\nHarbourton"
    zone = "Europe/Madrid"
    country = "ES"
    language = "en"
    public_url = "http://testserver"

    @factory.post_generation
    def book(self, create, extracted, **kwargs):
        open_book(self)


class PersonRows(Rows):
    class Meta:
        model = models.Person
        skip_postgeneration_save = True

    workshop = factory.SubFactory(WorkshopRows)
    name = factory.Sequence(lambda n: f"Person {n}")
    pin_hash = factory.LazyFunction(lambda: pin.hashed(PIN))

    @factory.post_generation
    def roles(self, create, extracted, **kwargs):
        for role in extracted or ():
            models.PersonRole.objects.create(person=self, role=role)


class TabletRows(Rows):
    class Meta:
        model = models.Tablet
        skip_postgeneration_save = True

    workshop = factory.SubFactory(WorkshopRows)
    name = factory.Sequence(lambda n: f"Tablet {n}")
    secret_hash = ""

    @factory.post_generation
    def secret(self, create, extracted, **kwargs):
        self.secret_hash = tablets.secret_hash(tablets.secret_of(self))
        self.save()


def workshop(**rest):
    return WorkshopRows(**rest)


def person(shop, name, *roles, password=None, **rest):
    row = PersonRows(workshop=shop, name=name, roles=roles, **rest)
    if password:
        from django.contrib.auth.models import User

        row.user = User.objects.create_user(username=f"p{row.pk}", password=password)
        row.save()
    return row


def tablet(shop, **rest):
    return TabletRows(workshop=shop, **rest)


def document(shop, kind, path, **rest):
    """A built-in document of fixtures/, published."""
    body = tomllib.loads((FIXTURES / path).read_text())
    values = {
        "name": body["name"],
        "version": body["version"],
        "body": body,
        "digest": digest(body),
        "published_at": NOW,
    }
    return models.Document.objects.create(workshop=shop, kind=kind, **(values | rest))


def customer(shop, name="Ana Berg", **rest):
    return models.Customer.objects.create(workshop=shop, name=keep_private(shop, name), since=NOW, **rest)


def vehicle(shop, vin=VIN, plate="QS 12 ABC", **rest):
    values = {"model": "Four-door sedan", "colour": "grey", "body": "sedan"}
    return models.Vehicle.objects.create(
        workshop=shop, vin=vin, plate=keep_private(shop, plate), **(values | rest)
    )


def job(shop, *, car=None, number="26-0001", plan=None, body=None, **rest):
    """A job with its book, on the built-in plan and the sedan."""
    row = models.Job.objects.create(
        workshop=shop,
        number=number,
        vehicle=car or vehicle(shop),
        customer=rest.pop("customer", None) or customer(shop),
        plan=plan or document(shop, "plan", "plans/builtin.toml"),
        body=body or document(shop, "body", "bodies/sedan.toml"),
        arrived_at=rest.pop("arrived_at", NOW),
        **rest,
    )
    open_book(shop, row)
    return row


def roll(shop, *, lot="L-2209", code="R-1", expires_on=date(2028, 1, 1), sheet=None, **rest):
    material = models.Material.objects.filter(workshop=shop, kind="film").first()
    material = material or models.Material.objects.create(
        workshop=shop, kind="film", name="Harbour teal", colour="deep teal", finish="gloss", sheet=sheet
    )
    row, _ = models.Lot.objects.get_or_create(
        material=material, code=lot, defaults={"received_on": date(2026, 1, 10)}
    )
    return models.Roll.objects.create(
        lot=row,
        code=code,
        received_on=date(2026, 1, 10),
        expires_on=expires_on,
        **{"width_mm": 1520, "length_mm": 15000} | rest,
    )
