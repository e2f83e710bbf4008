"""A car's whole life on one page, in a fixed number of queries."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop import models
from shop.find.words import Reader
from shop.intake.names import body_of
from shop.people.identity import Proven
from shop.warranty import actions
from tests import make, make_finished

pytestmark = pytest.mark.django_db

NOW = make_finished.HANDED_OVER + timedelta(minutes=10)


@pytest.fixture
def shop():
    shop = make.workshop()
    make.person(shop, "Dora Lind", "desk", password="a long password")
    return shop


@pytest.fixture
def desk(client, shop):
    client.force_login(models.Person.objects.get(workshop=shop, name="Dora Lind").user)
    return client


def lived(shop, **rest):
    done = make_finished.finished_job(shop, **rest)
    fitting = models.Fitting.objects.filter(job=done.job).first()
    models.Defect.objects.create(
        fitting=fitting,
        edge=fitting.edges.first(),
        kind="lifted_edge",
        found_at="cure",
        raised_by=done.marek,
        raised_at=make_finished.LAID,
        disposition="put_right",
        closed_by=done.ines,
        closed_at=make_finished.RELEASED,
    )
    models.Mark.objects.create(
        job=done.job,
        panel=fitting.panel,
        kind="scratch",
        x_mil=500,
        y_mil=500,
        note="on the edge",
        made_at=make.NOW,
    )
    models.Ownership.objects.create(
        vehicle=done.job.vehicle, customer=done.job.customer, since=make.NOW.date()
    )
    actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
    return done


def test_everything_is_there(desk, shop):
    done = lived(shop, panels=(("hood", 1), ("bumper-front", 2)))
    html = " ".join(desk.get(f"/life/{done.job.vehicle_id}/").content.decode().split())
    for words in (
        make.VIN,
        "QS 12 ABC",
        "Ana Berg",
        "26-0001",
        "handed over 3 March 2026",
        "until 3 March 2031",
        "Front bumper, piece 2",
        "Harbour teal, lot L-2209",
        "Ines Vidal, Tom Aker",
        "front edge: lifted edge",
        "Put right, Ines Vidal, 3 March 2026",
        "Hood: scratch",
        "on the edge",
        "air 21.4 °C",
        "Laid and sealed",
        "I went round every visible edge",
        "Certificate 26-0001 issued.",
        "The car was handed over.",
        " as released.",
        "with a PIN",
    ):
        assert words in html, words
    assert html.count('src="/photos/') == len(done.photos)


def queries(desk, pk) -> int:
    desk.get(f"/life/{pk}/")
    with CaptureQueriesContext(connection) as counted:
        assert desk.get(f"/life/{pk}/").status_code == 200
    return len(counted)


def test_a_longer_life_asks_no_more_queries(desk, shop):
    done = lived(shop, panels=(("hood", 1),))
    few = queries(desk, done.job.vehicle_id)
    models.Fitting.objects.update(ended_at=NOW, ended_as="filmed_again")
    models.Ownership.objects.all().update(until=make.NOW.date())
    lived(
        shop, number="26-0002", car=done.job.vehicle, panels=(("hood", 1), ("roof", 1), ("bumper-front", 3))
    )
    assert queries(desk, done.job.vehicle_id) == few


def test_a_car_that_was_only_written_down(desk, shop):
    page = desk.get(f"/life/{make.vehicle(shop).pk}/")
    assert page.status_code == 200
    assert b"This car was never here." in page.content


def test_another_workshops_car_is_not_there(desk):
    other = make.vehicle(make.workshop(name="Other Works"))
    assert desk.get(f"/life/{other.pk}/").status_code == 404


def test_the_book_in_plain_words():
    done = make_finished.finished_job(panels=(("hood", 1),), with_photos=False)
    reader = Reader(done.job.plan.body, body_of(done.job.body), "en")
    said = [
        ("answer", '{"line":"degrease.wipe","places":[["hood.1",["front"]]],"answer":"done"}'),
        ("answer", '{"line":"degrease.wipe","places":[["hood.1",[]]],"answer":"na","reason":"not fitted"}'),
        ("sign_ready", '{"panels":["hood.1","bumper-front.2"]}'),
        ("raise_defect", '{"panel":"hood.1","kind":"lifted_edge"}'),
        ("withdraw", '{"certificate":"26-0001","why":"Never paid"}'),
        ("something_new", '{"x":1}'),
        ("raise_defect", "[]"),
        ("answer", "no json"),
    ]
    assert [reader.sentence(verb, body) for verb, body in said] == [
        "Hood: “Wipe edge, return, flush line” done.",
        "Hood: “Wipe edge, return, flush line” not here (not fitted).",
        "Signed Hood and Front bumper, piece 2 as ready for film.",
        "Hood: lifted edge found.",
        "Certificate 26-0001 withdrawn: Never paid.",
        "Something new.",
        "Raise defect.",
        "Answer.",
    ]
