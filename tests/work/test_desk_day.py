"""The desk's day and the wall: cars to come, here, curing, ready, gone; times promised and changed."""

import re
import uuid
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop import clock, models
from shop.intake import actions
from shop.people.identity import Claimed, SignedIn
from shop.reasons import Refused
from shop.record.actions import body_of
from tests import make
from tests.work.world import World

pytestmark = pytest.mark.django_db
TOMORROW = timedelta(days=1)


@pytest.fixture
def world():
    return World()


def at(world, person=None) -> Client:
    client = Client()
    if person:
        client.force_login(person.user)
    return client


def shown(world, address="/cars/", person=None) -> str:
    with clock.held_at(world.now):
        answer = at(world, person or world.dora).get(address)
    assert answer.status_code == 200
    return answer.text


def expect(world, **rest) -> models.Expected:
    told = {"name": "Noor Haddad", "phone": "+34 600 000 777", "car": "grey estate", "what": "front"}
    told |= {"expected_at": world.now + TOMORROW, "by": SignedIn(world.dora), "now": world.now}
    return actions.expect_car(workshop=world.shop, **(told | rest))


def refused(act) -> set[str]:
    with pytest.raises(Refused) as told:
        act()
    return {reason.code for reason in told.value.reasons}


def group_of(text: str, job) -> str:
    """The section of the day the job stands in."""
    parts = re.split(r'data-group="(\w+)"', text)
    return next(name for name, body in zip(parts[1::2], parts[2::2], strict=True) if f'data-job="{job.pk}"' in body
                or (name == "left" and f"/cars/{job.pk}/certificate/" in body))  # fmt: skip


def form(**rest):
    return {"key": str(uuid.uuid4()), **rest}


# ------------------------------------------------------------------ the day


def test_a_car_goes_through_the_groups_of_the_day(world):
    seen = []
    for state in ("arrived", "ready", "laid", "cured", "released", "handed_over"):
        world.go_to(state)
        seen.append(group_of(shown(world), world.job))
    assert seen == ["bay", "bay", "cure", "bay", "ready", "left"]


def test_what_was_handed_over_yesterday_is_gone_before(world):
    world.go_to("handed_over")
    world.now += TOMORROW
    text = shown(world)
    assert "Handed over today" not in text and "Gone before" in text


def test_a_time_that_passed_is_said_to_be_late(world):
    models.Job.objects.update(promised_at=world.now - timedelta(minutes=1))
    assert "late:" in shown(world)
    models.Job.objects.update(promised_at=world.now + timedelta(minutes=1))
    assert "late:" not in shown(world)


def test_a_recheck_agreed_on_is_a_car_to_come(world):
    world.go_to("issued")
    today = world.today()
    for on, key in ((today, "a"), (today + timedelta(days=7), "b"), (today + timedelta(days=8), "c")):
        models.Recheck.objects.create(
            workshop=world.shop, certificate=world.certificate(), key=key, due_from=on, planned_on=on
        )
    text = shown(world)
    addresses = [f"/rechecks/{world.certificate().pk}/{key}/" in text for key in "abc"]
    assert addresses == [True, True, False]


def test_ten_cars_take_as_many_questions_as_one(world):
    def asked() -> int:
        with CaptureQueriesContext(connection) as found:
            shown(world)
        return len(found)

    expect(world)
    one = asked()
    for n in range(3):
        car = make.vehicle(world.shop, vin=f"ZZZ19TV82GEU5720{n}")
        make.job(world.shop, car=car, number=f"26-01{n}1", plan=world.job.plan, body=world.job.body)
        expect(world, name=f"Guest {n}")
    assert asked() == one


# ------------------------------------------------------------------ cars to come


def test_a_car_that_comes_becomes_a_job_of_the_same_customer(world):
    row = expect(world)
    job = actions.take_in(
        workshop=world.shop, name="noor haddad", vin="ZZZ19TV82GEU57286", model="estate", colour="grey",
        expected=row, by=SignedIn(world.dora), now=world.now,
    )  # fmt: skip
    row.refresh_from_db()
    assert (row.job, job.customer) == (job, row.customer)
    assert job.customer.phone.value == "+34 600 000 777"
    assert "No car is expected." in shown(world)
    again = {"expected": row, "by": SignedIn(world.dora), "now": world.now}
    assert refused(lambda: actions.call_off_expected(why="no", **again)) == {"already_recorded"}


def test_somebody_else_brings_it(world):
    row = expect(world)
    job = actions.take_in(
        workshop=world.shop, name="Ben Stone", vin="ZZZ19TV82GEU57286", model="estate", colour="grey",
        expected=row, by=SignedIn(world.dora), now=world.now,
    )  # fmt: skip
    assert job.customer != row.customer and models.Expected.objects.get().job == job


def test_of_a_known_car_neither_owner_nor_car_are_asked(world):
    models.Ownership.objects.create(
        vehicle=world.job.vehicle, customer=world.job.customer, since=world.today()
    )
    row = expect(world, vehicle=world.job.vehicle, name="", phone="", car="")
    assert row.customer == world.job.customer and row.car_words.startswith("QS 12 ABC")


def test_it_is_moved_or_called_off_and_the_book_says_so_without_names(world):
    row = expect(world)
    actions.move_expected(
        expected=row, expected_at=world.now + 2 * TOMORROW, by=SignedIn(world.dora), now=world.now
    )
    actions.call_off_expected(expected=row, why="sold it", by=SignedIn(world.dora), now=world.now)
    entries = models.Entry.objects.filter(verb__contains="expect").order_by("pk")
    assert [entry.verb for entry in entries] == ["expect_car", "move_expected", "call_off_expected"]
    assert all("Haddad" not in entry.body for entry in entries)
    assert "grey estate" not in shown(world)
    assert refused(
        lambda: actions.move_expected(
            expected=row, expected_at=world.now + TOMORROW, by=SignedIn(world.dora), now=world.now
        )
    ) == {"job_closed"}


@pytest.mark.parametrize(
    ("rest", "codes"),
    [
        ({"name": ""}, {"field_missing"}),
        ({"car": " "}, {"field_missing"}),
        ({"phone": "112"}, {"value_wrong"}),
        ({"expected_at": make.NOW - 2 * TOMORROW}, {"day_wrong"}),
        ({"expected_at": make.NOW + 400 * TOMORROW}, {"day_wrong"}),
        ({"what": "x" * 201}, {"value_wrong"}),
    ],
    ids="-".join,
)
def test_what_is_wrong_with_a_car_to_come_is_said(world, rest, codes):
    assert refused(lambda: expect(world, **rest)) == codes
    assert not models.Expected.objects.exists()


def test_only_the_desk_expects_and_promises(world):
    row = expect(world)
    soon = world.now + TOMORROW
    acts = [
        lambda by: expect(world, by=by),
        lambda by: actions.move_expected(expected=row, expected_at=soon, by=by, now=world.now),
        lambda by: actions.call_off_expected(expected=row, why="no", by=by, now=world.now),
        lambda by: actions.promise_time(job=world.fresh(), promised_at=soon, by=by, now=world.now),
    ]
    for act in acts:
        assert refused(lambda act=act: act(SignedIn(world.ines))) == {"not_allowed"}
        assert refused(lambda act=act: act(Claimed(world.dora))) == {"not_allowed"}
        assert refused(lambda act=act: act(SignedIn(world.otto))) == {"other_workshop"}


def test_the_pages_take_a_car_from_the_phone_to_the_bay(world):
    client = at(world, world.dora)
    with clock.held_at(world.now):
        told = form(
            expected="2026-03-05T09:00",
            name="Noor Haddad",
            phone="600 000 777",
            car="grey estate",
            what="front",
        )
        for _ in range(2):
            assert client.post("/cars/expected/new/", told).status_code == 302
        row = models.Expected.objects.get()
        assert row.expected_at.isoformat() == "2026-03-05T08:00:00+00:00"
        here = f"/cars/expected/{row.pk}/"
        assert client.post(here, form(act="off", why="")).status_code == 422
        assert client.post(here, form(act="move", expected="2026-03-06T09:00")).status_code == 302
        page = client.get(f"/cars/new/?expected={row.pk}").text
        assert 'value="Noor Haddad"' in page and 'value="grey estate"' in page
        told = form(name="Noor Haddad", vin="ZZZ19TV82GEU57286", model="estate", colour="grey", body="sedan")
        assert client.post(f"/cars/new/?expected={row.pk}", told).status_code == 302
        assert models.Expected.objects.get().job
        assert client.get(here).status_code == 404


# ------------------------------------------------------------------ promised times


def promise(world, when, why=""):
    return actions.promise_time(
        job=world.fresh(), promised_at=when, why=why, by=SignedIn(world.dora), now=world.now
    )


def test_a_time_is_promised_changed_with_a_reason_and_taken_back(world):
    models.Job.objects.update(promised_at=None)
    first, second = world.now + TOMORROW, world.now + 2 * TOMORROW
    assert promise(world, first).promised_at == first
    assert refused(lambda: promise(world, second)) == {"reason_missing"}
    assert promise(world, second, "the film came late").promised_at == second
    assert refused(lambda: promise(world, second, "again")) == {"already_recorded"}
    assert promise(world, None, "we call").promised_at is None
    bodies = [body_of(entry) for entry in models.Entry.objects.filter(verb="promise_time").order_by("pk")]
    assert [bool(body["before"]) for body in bodies] == [False, True, True]
    assert bodies[1]["why"] == "the film came late"


def test_no_time_that_is_past_or_too_far_and_none_of_a_car_that_left(world):
    assert refused(lambda: promise(world, world.now, "x")) == {"value_wrong"}
    assert refused(lambda: promise(world, world.now + 400 * TOMORROW, "x")) == {"value_wrong"}
    world.go_to("handed_over")
    assert refused(lambda: promise(world, world.now + TOMORROW)) == {"job_closed"}


def test_the_page_of_the_promised_time(world):
    models.Job.objects.update(promised_at=None)
    client, here = at(world, world.dora), f"/cars/{world.job.pk}/promise/"
    with clock.held_at(world.now):
        assert client.post(here, form(promised="")).status_code == 422
        assert client.post(here, form(promised="2026-03-05T17:00")).status_code == 302
        assert world.fresh().promised_at.isoformat() == "2026-03-05T16:00:00+00:00"
        answer = client.post(here, form(promised="2026-03-06T17:00", why=""))
        assert answer.status_code == 409 and "2026-03-06T17:00" in answer.text


# ------------------------------------------------------------------ the wall


def test_nothing_about_a_person_stands_on_the_wall(world):
    world.go_to("ready")
    text = shown(world, "/bay/wall/")
    for word in ("QS 12 ABC", "Ana Berg", "Ines", "Jonas", world.job.vehicle.vin):
        assert word not in text
    assert world.job.number in text and "Grey Four-door sedan" in text


def test_the_wall_asks_for_its_cars_anew_and_takes_no_orders(world):
    text = shown(world, "/bay/wall/")
    assert 'hx-get="/bay/wall/?part=cars"' in text and "every 30s" in text
    assert "<form" not in text and "<button" not in text
    part = shown(world, "/bay/wall/?part=cars")
    assert part.lstrip().startswith('<div class="wall-cars"') and "<html" not in part
    with clock.held_at(world.now):
        assert at(world, world.dora).get("/bay/wall/?part=other").status_code == 400
        assert at(world, world.dora).post("/bay/wall/").status_code == 405
        assert at(world).get("/bay/wall/").status_code == 302


def test_an_empty_bay_is_said(world):
    models.Job.objects.update(cancelled_at=world.now)
    assert "No car is here." in shown(world, "/bay/wall/")
