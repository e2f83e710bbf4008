"""One field: what a caller may say, and which car answers."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop import models
from shop.find.search import search
from shop.intake.register import rewrite_keys
from shop.people.identity import Proven
from shop.record.actions import keep_private
from shop.warranty import actions
from tests import make, make_finished

pytestmark = pytest.mark.django_db

OLD = make.NOW - timedelta(days=400)


def car(shop, n: int, *, name="Ana Berg", phone="", plate=None, vin=None, arrived_at=make.NOW):
    """A car that was here once, with its keys."""
    customer = make.customer(shop, name, phone=keep_private(shop, phone) if phone else None)
    row = make.vehicle(shop, vin=vin or f"ZZZPP41L5TR{n:06}", plate=plate or f"QS {n} ABC")
    models.Ownership.objects.create(vehicle=row, customer=customer, since=arrived_at.date())
    plan, body = _document(shop, "plan", "plans/builtin.toml"), _document(shop, "body", "bodies/sedan.toml")
    make.job(
        shop, car=row, number=f"26-{n:04}", customer=customer, plan=plan, body=body, arrived_at=arrived_at
    )
    rewrite_keys(row)
    return row


def _document(shop, kind, path):
    return models.Document.objects.in_force(shop, kind) or make.document(shop, kind, path)


@pytest.fixture
def shop():
    return make.workshop(country="GB")


def found(shop, text) -> list[int]:
    return [hit.vehicle.pk for hit in search(shop, text).hits]


@pytest.mark.parametrize(
    "typed",
    [
        "1M8GDM9AXKP042788",
        "1m8gdm9axkp042788",
        "1M8-GDM9 AXKP0427 88",
        "IM8GDM9AXKPO42788",
        "042788",
        "O42788",
        "sk 41 ltr",
        "SK41LTR",
        "SK 4I LTR",
        "Halloran",
        "halloran ines",
        "Inés",
        "+44 7400 123456",
        "07400 123456",
        "3456",
        "0123456",
    ],
)
def test_forgiving(shop, typed):
    mine = car(
        shop, 1, vin="1M8GDM9AXKP042788", plate="SK 41 LTR", name="Ines Halloran", phone="07400 123456"
    )
    car(shop, 2, name="Tom Other", phone="020 8366 1177")
    assert found(shop, typed) == [mine.pk]


@pytest.mark.parametrize(
    "typed",
    [
        "1M8G",
        "im8gdm",
        "sk 4",
        "SK41",
        "hal",
        "ines hal",
        "Halloran in",
        "07400 12",
        "+44 7400",
        "SK41L",
        "1M",
    ],
)
def test_answers_as_you_type(shop, typed):
    mine = car(
        shop, 1, vin="1M8GDM9AXKP042788", plate="SK 41 LTR", name="Ines Halloran", phone="07400 123456"
    )
    car(shop, 2, name="Tom Other", phone="020 8366 1177")
    assert found(shop, typed) == [mine.pk]


@pytest.mark.parametrize("typed", ["SK42", "K41L", "in hal", "allo", "tom hal", "07401", "zz"])
def test_only_a_beginning_answers(shop, typed):
    car(shop, 1, vin="1M8GDM9AXKP042788", plate="SK 41 LTR", name="Ines Halloran", phone="07400 123456")
    assert found(shop, typed) == []


def test_a_beginning_costs_the_same_for_many_cars(shop):
    def asked() -> int:
        with CaptureQueriesContext(connection) as seen:
            search(shop, "QS")
        return len(seen)

    car(shop, 1)
    few = asked()
    for n in range(2, 12):
        car(shop, n)
    assert asked() == few
    assert len(found(shop, "QS")) == 11


@pytest.mark.parametrize("typed", ["042789", "SK41LTX", "Halloran Tom", "Hallorand", "", " ", "0", "3457"])
def test_not_too_forgiving(shop, typed):
    car(shop, 1, vin="1M8GDM9AXKP042788", plate="SK 41 LTR", name="Ines Halloran", phone="07400 123456")
    assert found(shop, typed) == []


def test_says_what_was_met(shop):
    car(shop, 1, vin="1M8GDM9AXKP042788", plate="SK 41 LTR", name="Ines Halloran")
    assert [search(shop, text).hits[0].met for text in ("042788", "sk41ltr", "ines")] == [
        "last six",
        "plate",
        "name",
    ]


def test_newest_first(shop):
    first, second = car(shop, 1, arrived_at=OLD), car(shop, 2)
    third = car(shop, 3, arrived_at=make.NOW - timedelta(days=2))
    assert found(shop, "Berg") == [second.pk, third.pk, first.pk]


def test_by_certificate_and_by_lot():
    done = make_finished.finished_job(panels=(("hood", 1),), with_photos=False)
    actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=make_finished.HANDED_OVER)
    car(done.shop, 7)
    mine = done.job.vehicle_id
    for typed in ("26-0001", "260001", "26 0001", "26-OOOI", "26-0", "26000"):
        assert found(done.shop, typed) == [mine], typed
    assert found(done.shop, "L-2209") == [mine]
    assert found(done.shop, "l2209") == [mine]
    assert found(done.shop, "L-22") == [mine]


def test_keys_of_a_certificate_outlive_a_new_plate():
    done = make_finished.finished_job(panels=(("hood", 1),), with_photos=False)
    actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=make_finished.HANDED_OVER)
    rewrite_keys(done.job.vehicle)
    assert found(done.shop, "26-0001") == [done.job.vehicle_id]


def test_another_workshop_is_not_searched(shop):
    car(shop, 1)
    assert found(make.workshop(name="Other Works"), "Berg") == []


def test_no_query_per_car(shop):
    def queries() -> int:
        with CaptureQueriesContext(connection) as counted:
            for hit in search(shop, "Berg").hits:
                assert hit.latest.number
                assert hit.vehicle.plate_text
                assert not getattr(hit.latest, "certificate", None)
        return len(counted)

    car(shop, 1)
    few = queries()
    for n in range(2, 12):
        car(shop, n)
    assert queries() == few


def test_many_are_cut_off_and_said(shop):
    for n in range(32):
        car(shop, n)
    answer = search(shop, "Berg")
    assert (len(answer.hits), answer.more) == (30, True)


@pytest.fixture
def desk(client, shop):
    client.force_login(make.person(shop, "Dora Lind", "desk", password="a long password").user)
    return client


def test_the_page_goes_straight_to_the_only_car(desk, shop):
    mine = car(shop, 1)
    answer = desk.get("/find/", {"q": mine.vin})
    assert (answer.status_code, answer.headers["Location"]) == (302, f"/life/{mine.pk}/")


def test_results_as_you_type_are_a_part(desk, shop):
    mine = car(shop, 1, plate="SK 41 LTR")
    answer = desk.get("/find/", {"q": "sk42", "part": "results"})
    assert b"No car fits" in answer.content
    answer = desk.get("/find/", {"q": "sk41ltr", "part": "results"})
    assert answer.status_code == 200
    assert b"<html" not in answer.content
    assert f'href="/life/{mine.pk}/"'.encode() in answer.content
    assert b"26-0001" in answer.content
    assert desk.get("/find/", {"q": "x", "part": "other"}).status_code == 400


def test_the_page_answers_plainly(desk, shop):
    car(shop, 1)
    car(shop, 2)
    assert desk.get("/find/").status_code == 200
    page = desk.get("/find/", {"q": "Berg"})
    assert page.content.count(b'href="/life/') == 2
    assert b"Type at least two signs" in desk.get("/find/", {"q": "B"}).content
    page = desk.get("/find/", {"q": '<script>"'})
    assert b"<script>&quot;" not in page.content
    assert b"No car fits" in page.content


def test_a_stranger_is_asked_to_sign_in(client):
    for address in ("/find/?q=x", "/life/1/"):
        assert client.get(address).headers["Location"].startswith("/sign-in/")
