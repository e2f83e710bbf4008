"""Rechecks, film that comes off and new owners, through their pages."""

import uuid
from datetime import date

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop import clock, models
from tests import make
from tests.make_covered import Covered, noon, with_passwords
from tests.photos.pictures import jpeg

pytestmark = pytest.mark.django_db
TODAY = date(2026, 3, 12)


@pytest.fixture(autouse=True)
def at_the_desk():
    with clock.held_at(noon(TODAY)):
        yield


@pytest.fixture
def covered() -> Covered:
    return with_passwords()


@pytest.fixture
def desk(covered) -> Client:
    return signed_in(covered.dora)


def signed_in(person) -> Client:
    client = Client()
    client.force_login(person.user)
    return client


def key(**rest):
    return {"key": str(uuid.uuid4()), **rest}


def file(seed=1):
    return SimpleUploadedFile("edge.jpg", jpeg(seed=seed), "image/jpeg")


def here(covered, what="first_recheck"):
    return f"/rechecks/{covered.certificate.pk}/{what}/"


# ------------------------------------------------------------------ rechecks


def test_the_due_list_names_car_owner_and_days(covered, desk):
    text = desk.get("/rechecks/").text
    assert "Due now" in text and "10 March 2026" in text and "until 17 March 2026" in text
    assert "Ana Berg" in text and covered.certificate.number in text
    with clock.held_at(noon(date(2026, 3, 18))):
        text = desk.get("/rechecks/").text
    assert "Missed" in text and "It ends no cover." in text


def test_nothing_due_is_said(covered, desk):
    with clock.held_at(noon(date(2035, 1, 1))):
        assert "Nothing is due" in desk.get("/rechecks/").text


def test_the_due_list_asks_as_often_for_many_as_for_one(covered, desk):
    with CaptureQueriesContext(connection) as one:
        desk.get("/rechecks/")
    for n in range(3):
        desk.post(here(covered, "extra"), key(act="plan", on=f"2026-03-{20 + n}"))
    with CaptureQueriesContext(connection) as many:
        desk.get("/rechecks/")
    assert models.Recheck.objects.count() == 3 and len(many) == len(one)


def test_a_day_is_agreed_on_and_shown(covered, desk):
    assert desk.post(here(covered), key(act="plan", on="2026-03-16")).status_code == 302
    assert "16 March 2026" in desk.get("/rechecks/").text
    assert "expected" in desk.get(here(covered)).text
    answer = desk.post(here(covered), key(act="plan", on="2026-03-01"))
    assert answer.status_code == 409 and 'data-reason="day_wrong"' in answer.text
    assert desk.post(here(covered), key(act="plan", on="soon")).status_code == 422


def test_one_besides_the_terms_has_a_page_of_its_own(covered, desk):
    assert "One besides those the terms ask for." in desk.get(here(covered, "extra")).text
    answer = desk.post(here(covered, "extra"), key(act="plan", on="2026-09-01"))
    assert answer["Location"] == here(covered, "extra-1")
    assert desk.get(here(covered, "extra-9")).status_code == 404
    assert desk.get(here(covered, "polish")).status_code == 404


def look(**rest):
    return key(**({"act": "look", "on": TODAY.isoformat(), "odometer_km": ""} | rest))


def test_findings_are_taken_down_with_photos_before_and_after(covered, desk):
    sent = look(
        place_1="hood.1@front",
        kind_1="lifted_edge",
        touched_up_1="on",
        note_1="2 cm",
        photos_1=[file(1)],
        after_1=[file(2)],
        place_3="fender-left.1",
        kind_3="sound",
        odometer_km="50000",
    )
    assert desk.post(here(covered), sent).status_code == 302
    row = models.Recheck.objects.get()
    lift, sound = row.findings.order_by("pk")
    assert (lift.edge.code, lift.touched_up, lift.note, row.odometer_km) == ("front", True, "2 cm", 50000)
    assert [shown.after for shown in lift.photos.order_by("pk")] == [False, True]
    assert sound.kind == "sound"
    text = desk.get(here(covered)).text
    assert "touched up on the spot" in text and "Looked over by Dora Lind" in text


def test_nothing_typed_is_a_recheck_with_nothing_found(covered, desk):
    assert desk.post(here(covered), look()).status_code == 302
    assert "Everything was sound." in desk.get(here(covered)).text


def test_the_same_recheck_sent_twice_is_one(covered, desk):
    same = look(place_1="hood.1", kind_1="lines")
    first = desk.post(here(covered), same | {"photos_1": [file(1)]})
    second = desk.post(here(covered), same | {"photos_1": [file(1)]})
    assert first["Location"] == second["Location"]
    assert models.Entry.objects.filter(verb="record_recheck").count() == 1


@pytest.mark.parametrize(
    ("change", "status", "said"),
    [
        ({"kind_2": "lines"}, 422, "Choose where this was found."),
        ({"place_2": "hood.1"}, 422, "Choose what was found there."),
        ({"place_1": "roof.1", "kind_1": "lines"}, 422, "Pick one of the list."),
        ({"on": ""}, 422, "This cannot stay empty."),
        ({"on": "2026-03-13"}, 409, "That day is still to come."),
        ({"odometer_km": "many"}, 422, "whole number of kilometres"),
        ({"place_1": "hood.1", "kind_1": "lines", "touched_up_1": "on"}, 409, "take a photo of the place"),
    ],
    ids=str,
)
def test_a_recheck_typed_wrong_is_said(covered, desk, change, status, said):
    answer = desk.post(here(covered), look(**change))
    assert answer.status_code == status and said in answer.text
    assert not models.Recheck.objects.exists()


def test_free_touch_up_is_told_while_it_runs(covered, desk):
    assert "Free touch-up until 2 April 2026" in desk.get(here(covered)).text
    with clock.held_at(noon(date(2026, 4, 3))):
        assert "Free touch-up" not in desk.get(here(covered)).text


def test_an_installer_looks_over_but_plans_nothing(covered):
    ines = signed_in(covered.ines)
    assert "Agree on a day" not in ines.get(here(covered)).text
    assert ines.post(here(covered), key(act="plan", on="2026-03-16")).status_code == 409
    assert ines.post(here(covered), look()).status_code == 302


# ------------------------------------------------------------------ film off


def off(covered):
    return f"/life/{covered.car.pk}/film-off/"


def test_film_comes_off_with_what_was_found(covered, desk):
    text = desk.get(off(covered)).text
    assert "expect it to tear" in text and 'value="hood"' in text
    sent = key(
        panel="hood",
        on=TODAY.isoformat(),
        why="removed",
        place_1="hood.1@front",
        kind_1="glue_left",
        photos_1=[file(1)],
    )
    answer = desk.post(off(covered), sent)
    assert (answer.status_code, answer["Location"]) == (302, f"/life/{covered.car.pk}/")
    assert models.Finding.objects.get().kind == "glue_left"
    assert "Hood: its cover ends with 12 March 2026." in desk.get(answer["Location"]).text
    assert 'value="hood"' not in desk.get(off(covered)).text


@pytest.mark.parametrize(
    ("change", "status", "said"),
    [
        ({"panel": ""}, 422, "Choose the panel."),
        ({"why": ""}, 422, "Say what came off."),
        ({"on": "2026-03-01"}, 409, 'data-reason="day_wrong"'),
        ({"on": "x"}, 422, "year-month-day"),
        ({"place_1": "fender-left.1", "kind_1": "clean"}, 409, 'data-reason="no_film"'),
    ],
    ids=str,
)
def test_film_off_typed_wrong_is_said(covered, desk, change, status, said):
    sent = {"panel": "hood", "on": TODAY.isoformat(), "why": "removed"} | change
    answer = desk.post(off(covered), key(**sent))
    assert answer.status_code == status and said in answer.text
    assert not models.CoverEvent.objects.exists()


def test_a_car_without_our_film_says_so(covered, desk):
    other = make.vehicle(covered.shop, vin="ZZZPP41L7TR041721")
    assert "No film of ours" in desk.get(f"/life/{other.pk}/film-off/").text


# ------------------------------------------------------------------ a new owner


def owner(covered):
    return f"/life/{covered.car.pk}/new-owner/"


def sold(**rest):
    values = {"name": "Cem Doğan", "phone": "+34 600 111 222", "mail": "", "address": ""}
    values |= {"sold_on": TODAY.isoformat(), "told_on": TODAY.isoformat()}
    return key(**(values | rest))


def test_the_terms_are_read_before_the_owner_is_entered(covered, desk):
    text = desk.get(owner(covered)).text
    assert "The cover stays with the car." in text and "Now with Ana Berg" in text
    answer = desk.post(owner(covered), sold())
    assert (answer.status_code, answer["Location"]) == (302, f"/life/{covered.car.pk}/")
    assert models.Ownership.objects.filter(until__isnull=True).get().customer.name.value == "Cem Doğan"


def test_where_the_cover_ends_it_has_to_be_known():
    covered = with_passwords(transfer={"rule": "never"})
    desk = signed_in(covered.dora)
    assert "accept_end" not in desk.get(owner(covered)).text
    answer = desk.post(owner(covered), sold())
    assert answer.status_code == 409 and "by its terms it does not pass" in answer.text
    assert 'name="accept_end"' in answer.text and "Cem Doğan" in answer.text
    assert desk.post(owner(covered), sold(accept_end="on")).status_code == 302
    assert models.CoverEvent.objects.get().kind == "sold"


@pytest.mark.parametrize(
    ("change", "status", "said"),
    [
        ({"name": ""}, 422, "Type the new owner"),
        ({"sold_on": "2026-04-01"}, 409, 'data-reason="day_wrong"'),
        ({"mail": "nowhere"}, 409, "cannot be written to"),
        ({"name": "Ana Berg"}, 409, 'data-reason="already_recorded"'),
    ],
    ids=str,
)
def test_an_owner_typed_wrong_is_said(covered, desk, change, status, said):
    answer = desk.post(owner(covered), sold(**change))
    assert answer.status_code == status and said in answer.text
    assert models.Ownership.objects.count() == 1


# ------------------------------------------------------------------ doors


def test_doors(covered):
    otto = signed_in(
        make.person(make.workshop(name="Elsewhere"), "Otto", "owner", "desk", password="harbour lights 7")
    )
    for address in (here(covered), off(covered), owner(covered)):
        assert otto.get(address).status_code == 404
        assert Client().get(address).status_code == 302
    assert signed_in(covered.ines).get(owner(covered)).status_code == 403
    assert "Nothing is due" in otto.get("/rechecks/").text
