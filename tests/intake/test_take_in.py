"""A car comes in: who, which car, in what state."""

from datetime import date, timedelta

import pytest

from shop.intake.actions import cancel_job, change_customer, change_vehicle, take_in
from shop.models import Entry, Job, Ownership, Private, SearchKey, Vehicle
from shop.people.identity import Claimed, SignedIn
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


def keys_of(vehicle):
    return set(SearchKey.objects.filter(vehicle=vehicle).values_list("kind", "key"))


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
    assert keys_of(job.vehicle) == {
        ("vin", VIN),
        ("last_six", VIN[-6:]),
        ("plate", "0S12ABC"),
        ("name", "ana"),
        ("name", "berg"),
        ("phone", "+34600123456"),
        ("phone_tail", "0123456"),
        ("phone_tail", "3456"),
    }


def test_nothing_about_a_person_is_in_the_book(shop, dora):
    job = come_in(shop, dora, name="Zofia Łęcka", address="7 Rope Walk\nHarbourton")
    text = Entry.objects.get(book__job=job).body
    for value in ("Zofia", "Łęcka", "600 123", "ana@", "Rope", VIN, "QS 12"):
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
        ("field_missing", "#name"),
        ("value_wrong", "#phone"),
        ("value_wrong", "#mail"),
        ("vin_length", "#vin"),
        ("vin_letters", "#vin"),
        ("field_missing", "#model"),
        ("field_missing", "#colour"),
        ("value_wrong", "#odometer"),
        ("value_wrong", "#promised"),
        ("value_wrong", "#body"),
    }
    assert not Vehicle.objects.exists()
    assert not Job.objects.exists()
    assert not Private.objects.exists()


@pytest.mark.parametrize(
    ("vin", "found"),
    [
        ("", ["vin_length"]),
        (GOOD[:-1], ["vin_length"]),
        (GOOD[:8] + "I" + GOOD[9:], ["vin_letters"]),
        ("1M8GDM9A1KP042788", ["vin_check_digit"]),
    ],
)
def test_a_vin_that_cannot_be_is_refused(shop, dora, vin, found):
    with pytest.raises(Refused) as caught:
        come_in(shop, dora, vin=vin)
    assert codes(caught) == found


def test_a_vin_is_kept_upper_case_without_spaces(shop, dora):
    assert come_in(shop, dora, vin=" 1m8gdm9a-xkp0 42788 ").vehicle.vin == GOOD


def test_a_failing_check_digit_passes_with_a_reason_and_the_reason_stays(shop, dora):
    job = come_in(shop, dora, vin="1M8GDM9A1KP042788", vin_confirmed="Reads so on plate and dashboard")
    assert job.vehicle.vin_note == "Reads so on plate and dashboard"
    assert body_of(Entry.objects.get(book__job=job))["vehicle"]["confirmed"] == job.vehicle.vin_note
    cancel_job(job=job, why="came on the wrong day", by=dora, now=NOW)
    assert come_in(shop, dora, vin="1M8GDM9A1KP042788").vehicle.vin_note == job.vehicle.vin_note


def test_elsewhere_a_failing_check_digit_only_informs(shop, dora):
    assert come_in(shop, dora, vin="WZZPP41L5TR041720").vehicle.vin_note == ""


def test_a_car_without_vin_has_a_chassis_number_and_a_reason(shop, dora):
    with pytest.raises(Refused) as caught:
        come_in(shop, dora, vin="", chassis="ch-0417")
    assert codes(caught) == ["reason_missing"]
    job = come_in(shop, dora, vin="", chassis=" ch-0417 ", chassis_reason="Built in 1972")
    assert (job.vehicle.vin, job.vehicle.chassis) == (None, "CH-0417")
    assert ("chassis", "CH0417") in keys_of(job.vehicle)
    with pytest.raises(Refused) as caught:
        come_in(shop, dora, vin=GOOD, chassis="CH-1", chassis_reason="both are there")
    assert codes(caught) == ["value_wrong"]


def test_a_known_vin_is_that_car_again(shop, dora):
    first = come_in(shop, dora)
    with pytest.raises(Refused) as caught:
        come_in(shop, dora)
    assert codes(caught) == ["already_here"]
    assert caught.value.reasons[0].where == f"/cars/{first.pk}/"
    cancel_job(job=first, why="came on the wrong day", by=dora, now=NOW)
    edges = first.vehicle.panels.get(code="hood").edges.count()
    second = come_in(shop, dora, odometer_km=52000, plate="")
    assert second.vehicle == first.vehicle
    assert second.customer == first.customer
    assert second.number == "26-0002"
    assert second.vehicle.plate_text == "QS 12 ABC"
    assert second.vehicle.panels.get(code="hood").edges.count() == edges
    assert Ownership.objects.count() == 1


def test_a_new_name_is_a_new_owner(shop, dora):
    first = come_in(shop, dora)
    cancel_job(job=first, why="came on the wrong day", by=dora, now=NOW)
    later = NOW + timedelta(days=500)
    second = come_in(shop, dora, name="Piotr Żak", phone="", now=later, odometer_km=60000)
    past, present = Ownership.objects.order_by("pk")
    assert (past.customer, past.until) == (first.customer, date(2027, 7, 15))
    assert (present.customer, present.until) == (second.customer, None)
    assert {("name", "zak"), ("name", "berg")} <= keys_of(second.vehicle)


def test_fewer_kilometres_than_last_time_want_a_reason(shop, dora):
    first = come_in(shop, dora)
    cancel_job(job=first, why="came on the wrong day", by=dora, now=NOW)
    with pytest.raises(Refused) as caught:
        come_in(shop, dora, odometer_km=300)
    assert codes(caught) == ["odometer_back"]
    assert come_in(shop, dora, odometer_km=300, odometer_confirmed="New instrument").odometer_km == 300


def test_job_numbers_run_on_in_the_workshops_own_year(shop, dora):
    assert come_in(shop, dora).number == "26-0001"
    assert come_in(shop, dora, vin=GOOD).number == "26-0002"
    late = NOW.replace(month=12, day=31, hour=23, minute=30)
    assert come_in(shop, dora, vin="1J9RP1A36A1644345", now=late).number == "27-0001"
    other = make.workshop(name="Mill Lane Films")
    for kind, path in (("plan", "plans/builtin.toml"), ("body", "bodies/sedan.toml")):
        make.document(other, kind, path)
    assert come_in(other, SignedIn(make.person(other, "Otto", "desk"))).number == "26-0001"


def test_after_9999_the_numbers_go_on(shop, dora):
    first = come_in(shop, dora, vin=GOOD)
    Job.objects.filter(pk=first.pk).update(number="26-9999")
    assert come_in(shop, dora, vin="1J9RP1A36A1644345").number == "26-10000"
    assert come_in(shop, dora).number == "26-10001"


def test_changing_values_rewrites_the_keys_and_keeps_the_old_values_for_papers(shop, dora):
    job = come_in(shop, dora)
    name, plate = job.customer.name, job.vehicle.plate
    change_customer(customer=job.customer, name="Ana Łukasz", phone="600 999 888", by=dora, now=NOW)
    change_vehicle(vehicle=job.vehicle, plate="ab 1", vin=GOOD, by=dora, now=NOW)
    found = keys_of(job.vehicle)
    assert {("name", "lukasz"), ("plate", "AB1"), ("vin", GOOD), ("phone", "+34600999888")} <= found
    assert not {("name", "berg"), ("plate", "0S12ABC"), ("vin", VIN)} & found
    name.refresh_from_db()
    plate.refresh_from_db()
    assert (name.value, plate.value) == ("Ana Berg", "QS 12 ABC")
    entry = Entry.objects.get(verb="change_customer")
    assert body_of(entry)["changed"] == ["name", "phone"]
    assert "ukasz" not in entry.body


def test_two_cars_do_not_share_a_vin(shop, dora):
    come_in(shop, dora)
    other = come_in(shop, dora, vin=GOOD)
    with pytest.raises(Refused) as caught:
        change_vehicle(vehicle=other.vehicle, vin=VIN, by=dora, now=NOW)
    assert codes(caught) == ["already_here"]


def test_a_job_that_was_called_off_changes_no_more(shop, dora):
    job = come_in(shop, dora)
    with pytest.raises(Refused) as caught:
        cancel_job(job=job, why=" ", by=dora, now=NOW)
    assert codes(caught) == ["reason_missing"]
    cancel_job(job=job, why="The customer changed their mind", by=dora, now=NOW)
    with pytest.raises(Refused) as caught:
        cancel_job(job=job, why="again", by=dora, now=NOW)
    assert codes(caught) == ["job_closed"]


@pytest.mark.parametrize("role", ["installer", "inspector"])
def test_the_floor_does_not_take_cars_in(shop, role):
    with pytest.raises(Refused) as caught:
        come_in(shop, SignedIn(make.person(shop, "Ines", role)))
    assert codes(caught) == ["not_allowed"]


def test_a_name_picked_on_a_tablet_takes_no_car_in(shop):
    with pytest.raises(Refused) as caught:
        come_in(shop, Claimed(make.person(shop, "Petra", "owner")))
    assert codes(caught) == ["not_allowed"]


@pytest.mark.parametrize(
    "name",
    [
        "Zażółć Gęślą-Jaźń",
        "Ψάξε Ακμή",
        "<script>alert(1)</script>",
        "O'Brien & Söhne",
        "n" * 200,
        "名前",
    ],
)
def test_names_are_kept_as_they_are_written(shop, dora, name):
    assert come_in(shop, dora, name=name).customer.name.value == name


@pytest.mark.parametrize("name", ["n" * 201, "Ana\x00Berg", "Ana\u202eBerg", "Ana \ud800"])
def test_names_nobody_can_print_are_refused(shop, dora, name):
    with pytest.raises(Refused) as caught:
        come_in(shop, dora, name=name)
    assert codes(caught) == ["value_wrong"]


def test_without_plan_or_body_no_car_comes_in(shop, dora):
    shop.documents.filter(kind__in=["plan", "body"]).update(retired_at=NOW)
    with pytest.raises(Refused) as caught:
        come_in(shop, dora)
    assert codes(caught) == ["field_missing", "value_wrong"]
