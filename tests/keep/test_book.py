"""The book as a page: plain words, both times, from what to what, chosen and printed, in few queries."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.intake import actions as intake
from shop.keep import book as books
from shop.models import Book, Customer, Entry, Job, Person, Private, Tablet, Workshop
from shop.people import actions as people
from shop.people.identity import Claimed, SignedIn
from shop.work import actions as work


def text_of(answer) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


@pytest.fixture
def job(opened):
    return Job.objects.order_by("pk").first()


@pytest.fixture
def owner(opened) -> Person:
    return Person.objects.get(roles__role="owner")


@pytest.fixture
def desk(owner) -> Client:
    client = Client()
    client.force_login(owner.user)
    return client


def test_a_job_is_read_from_its_coming_to_its_certificate(desk, job):
    said = text_of(desk.get(f"/cars/{job.pk}/book/?print=1"))
    assert f"The car came in as job {job.number}" in said
    assert job.customer.name.value in said
    assert "Set out: Hood and" in said
    assert "Signed Hood and" in said and "I went round every visible edge" in said
    assert f"Certificate {job.certificate.number} issued." in said
    assert "proven by PIN on Bay tablet" in said
    assert "name picked on Bay tablet" in said
    assert Book.objects.get(job=job).head in said
    numbers = re.findall(r'id="entry-(\d+)"', desk.get(f"/cars/{job.pk}/book/?print=1").content.decode())
    assert [int(n) for n in numbers] == list(range(1, Book.objects.get(job=job).length + 1))


def test_it_comes_in_pages_and_whole_for_printing(desk, job):
    book = Book.objects.get(job=job)
    first = desk.get(f"/cars/{job.pk}/book/").content.decode()
    second = desk.get(f"/cars/{job.pk}/book/?page=2").content.decode()
    assert (first.count('id="entry-'), second.count('id="entry-')) == (
        books.A_PAGE,
        book.length - books.A_PAGE,
    )
    assert 'href="?page=2"' in first and 'href="?page=1"' in second
    assert desk.get(f"/cars/{job.pk}/book/?page=nonsense").status_code == 200


def test_more_entries_are_not_more_queries(desk, job):
    def asked(url):
        with CaptureQueriesContext(
            connection,
        ) as counted:
            assert desk.get(url).status_code == 200
        return len(counted)

    asked(f"/cars/{job.pk}/book/")
    one = asked(f"/cars/{job.pk}/book/?verb=answer&panel=hood&person={Person.objects.first().pk}")
    many = asked(f"/cars/{job.pk}/book/?print=1")
    assert many <= one + 3
    assert many < 20


@pytest.mark.parametrize("field", ["person", "verb", "panel"])
def test_it_is_chosen_by_who_what_and_where(desk, job, field):
    book = Book.objects.get(job=job)
    wanted = {
        "person": str(Person.objects.get(name="Marek Nowak").pk),
        "verb": "keep_photo",
        "panel": "hood",
    }[field]
    entries = books.chosen(book, books.Choice(**{field: wanted}))
    assert 0 < entries.count() < book.length
    for entry in entries:
        if field == "panel":
            assert '"hood' in entry.body
        else:
            assert str(getattr(entry, "person_id" if field == "person" else "verb")) == wanted
    shown = desk.get(f"/cars/{job.pk}/book/?{field}={wanted}&print=1").content.decode()
    assert shown.count('id="entry-') == entries.count()


@pytest.mark.parametrize(
    "query", ["person=x", "verb=%00", "panel=%22", "page=-1", "person=99999999999999999999999"]
)
def test_odd_choices_do_no_harm(desk, job, query):
    assert desk.get(f"/cars/{job.pk}/book/?{query}").status_code == 200


def test_who_is_not_at_the_desk_reads_the_work_and_not_the_customer(job):
    client = Client()
    ines = Person.objects.get(name="Ines Moreau")
    people.set_password(
        person=ines,
        password="harbour lights 7",
        by=SignedIn(Person.objects.get(roles__role="owner")),
        now=_now(),
    )
    client.force_login(Person.objects.get(pk=ines.pk).user)
    said = text_of(client.get(f"/cars/{job.pk}/book/?print=1"))
    for private in Private.objects.filter(pk__in=_customers_values(job)):
        assert private.value not in said
    assert "kept apart" in said and "Set out: Hood" in said
    assert client.get("/shop/book/").status_code == 403


def _customers_values(job):
    """All but the plate, by which everybody in the bay knows the car."""
    customer = job.customer
    return [customer.name_id, customer.phone_id, customer.mail_id, job.vehicle.vin_private_id]


def _now():
    return Entry.objects.latest("pk").received_at + timedelta(minutes=5)


def test_another_shops_book_is_not_there(desk, opened):
    from tests import make

    other = make.job(make.workshop(name="Another"))
    assert desk.get(f"/cars/{other.pk}/book/").status_code == 404


def test_an_answer_put_right_says_what_it_was_before(desk):
    job = Job.objects.order_by("pk")[1]
    ines, tablet = Person.objects.get(name="Ines Moreau"), Tablet.objects.first()
    now = _now()
    for minutes, answer, reason in ((0, "done", ""), (3, "na", "none fitted")):
        at = now + timedelta(minutes=minutes)
        work.answer(
            job=job, key="wash.hardware_off", panels=["hood.1"], edges=[], answer=answer, reason=reason,
            by=Claimed(ines, tablet), now=at,
        )  # fmt: skip
    said = text_of(desk.get(f"/cars/{job.pk}/book/?verb=answer&print=1"))
    assert "not here (none fitted)" in said
    assert "done, by Ines Moreau at" in said and "became not here (none fitted)" in said


def test_both_times_are_said_where_they_differ(desk):
    job = Job.objects.order_by("pk")[1]
    ines, tablet, now = Person.objects.get(name="Ines Moreau"), Tablet.objects.first(), _now()
    work.note(
        job=job, panels=[], text="door felt cold", by=Claimed(ines, tablet), now=now,
        happened_at=now - timedelta(minutes=40), device_at=now + timedelta(hours=2), sure=False,
    )  # fmt: skip
    said = text_of(desk.get(f"/cars/{job.pk}/book/?verb=note"))
    assert "came in" in said and "the tablet’s clock said" in said and "the time is unsure" in said
    quiet = text_of(desk.get(f"/cars/{job.pk}/book/?verb=set_out"))
    assert "came in" not in quiet and "clock said" not in quiet


def test_the_shops_book_says_from_what_to_what(desk, owner):
    by, now = SignedIn(owner), _now()
    shop = Workshop.objects.get()
    people.change_settings(workshop=shop, phone="+34 600 000 001", pin_length=7, by=by, now=now)
    people.change_settings(workshop=shop, phone="+34 600 000 002", by=by, now=now)
    ines = Person.objects.get(name="Ines Moreau")
    people.change_person(person=ines, name="Ines Vidal", roles=["installer", "inspector"], by=by, now=now)
    customer = Customer.objects.first()
    before = customer.name.value
    intake.change_customer(customer=customer, name="Somebody Else", by=by, now=now)
    car = Job.objects.first().vehicle
    colour = car.colour
    intake.change_vehicle(vehicle=car, colour="night blue", by=by, now=now)
    said = text_of(desk.get("/shop/book/?print=1"))
    assert "phone +34 600 000 001 became +34 600 000 002" in said
    assert "digits of a PIN 7" in said
    assert "roles installer became inspector, installer" in said
    assert "name Ines Moreau became Ines Vidal" in said
    assert f"name {before} became Somebody Else" in said
    assert f"colour {colour} became night blue" in said


def test_an_erased_value_reads_erased(desk, job):
    name = job.customer.name
    Private.objects.filter(pk=name.pk).update(value="", salt="", erased_at=_now())
    said = text_of(desk.get(f"/cars/{job.pk}/book/"))
    assert "customer erased" in said
    assert name.value not in said
