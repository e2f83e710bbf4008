"""The certificate at the desk, through its pages."""

import uuid
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop import clock, models, press, store
from shop.people.identity import Proven
from shop.warranty import actions
from tests import make, make_finished

pytestmark = pytest.mark.django_db

NOW = make_finished.HANDED_OVER + timedelta(minutes=10)


@pytest.fixture(autouse=True)
def at_the_desk():
    with clock.held_at(NOW):
        yield


@pytest.fixture(autouse=True)
def quick_press(monkeypatch):
    monkeypatch.setattr(press, "run", lambda work, put, **rest: b"%PDF-1.7 " + put.mark.encode())


@pytest.fixture
def done():
    shop = make.workshop()
    for name, role in (("Dora Lind", "desk"), ("Petra Quay", "owner"), ("Ines Vidal", "installer")):
        make.person(shop, name, role, password="a long password")
    return make_finished.finished_job(shop, panels=(("hood", 1),), with_photos=False)


def signed_in(client, person):
    client.force_login(person.user)
    return client


def address(done, more="") -> str:
    return f"/cars/{done.job.pk}/certificate/{more}"


def form(pin=make.PIN, **rest):
    return {"key": str(uuid.uuid4()), "pin": pin, **rest}


def test_it_is_issued_with_a_pin_and_printed(client, done):
    desk = signed_in(client, done.dora)
    shown = desk.get(address(done))
    assert b"3 March 2031" in shown.content
    answer = desk.post(address(done), form())
    assert (answer.status_code, answer.headers["Location"]) == (302, address(done))
    revision = models.Revision.objects.get()
    assert revision.issued_by == done.dora
    page = desk.get(address(done))
    assert b"Open the PDF" in page.content
    paper = desk.get(address(done, "1.pdf"))
    assert paper.headers["Content-Type"] == "application/pdf"
    assert paper.headers["Content-Disposition"] == 'inline; filename="certificate-26-0001.pdf"'
    assert store.digest_of(paper.content) == revision.pdf_sha256


def test_a_wrong_pin_writes_nothing_but_the_miss(client, done):
    answer = signed_in(client, done.dora).post(address(done), form(pin="000001"))
    assert answer.status_code == 409
    assert b'data-reason="pin_wrong"' in answer.content
    assert not models.Certificate.objects.exists()
    assert models.Person.objects.get(pk=done.dora.pk).misses == 1


def test_a_form_sent_twice_acts_once(client, done):
    desk, once = signed_in(client, done.dora), form()
    assert desk.post(address(done), once).status_code == 302
    assert desk.post(address(done), once).status_code == 302
    assert models.Certificate.objects.count() == 1
    assert models.Revision.objects.count() == 1
    # Another form, opened before the first was sent, is told what happened.
    late = desk.post(address(done), form())
    assert late.status_code == 409
    assert b'data-reason="already_issued"' in late.content


def test_what_stands_in_the_way_is_said_with_links(client):
    shop = make.workshop()
    make.person(shop, "Dora Lind", "desk", password="a long password")
    done = make_finished.finished_job(shop, panels=(("hood", 1),), with_photos=False, handed_over=None)
    page = signed_in(client, done.dora).get(address(done))
    assert b'data-reason="not_handed_over"' in page.content
    assert b"Issue the certificate" not in page.content


def test_an_unprinted_paper_says_so_and_is_printed_again(client, done, monkeypatch):
    desk = signed_in(client, done.dora)

    def dies(*args, **rest):
        raise press.PressFailed("stopped")

    with monkeypatch.context() as broken:
        broken.setattr(press, "run", dies)
        desk.post(address(done), form())
    page = desk.get(address(done))
    assert b"Not printed yet" in page.content
    assert b"Print again" in page.content
    assert desk.get(address(done, "1.pdf")).status_code == 404
    desk.post(address(done, "print/"), {"key": str(uuid.uuid4())})
    assert b"Open the PDF" in desk.get(address(done)).content


def test_correcting_keeps_the_old_revision_readable(client, done):
    desk = signed_in(client, done.dora)
    desk.post(address(done), form())
    assert desk.get(address(done, "correct/")).status_code == 200
    answer = desk.post(address(done, "correct/"), form(reason=""))
    assert answer.status_code == 422
    assert b"Say what this revision corrects." in answer.content
    assert desk.post(address(done, "correct/"), form(reason="Plate was wrong.")).status_code == 302
    page = desk.get(address(done)).content
    assert b"Revision 2" in page
    old = desk.get(address(done, "1/")).content
    assert b"This revision is not in force." in old
    assert (
        desk.get(address(done, "2.pdf")).headers["Content-Disposition"].endswith('certificate-26-0001-2.pdf"')
    )
    assert desk.get(address(done, "3/")).status_code == 404


def test_only_the_owner_withdraws(client, done):
    actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
    assert signed_in(client, done.dora).get(address(done, "withdraw/")).status_code == 403
    owner = signed_in(client, done.petra)
    assert owner.get(address(done, "withdraw/")).status_code == 200
    assert owner.post(address(done, "withdraw/"), form(why="Never paid.")).status_code == 302
    page = owner.get(address(done)).content
    assert b"Withdrawn. It covers nothing any more." in page
    assert b"Correct it" not in page


def test_an_installer_reads_but_does_not_issue(client, done):
    floor = signed_in(client, done.ines)
    assert b"Issue the certificate" not in floor.get(address(done)).content
    answer = floor.post(address(done), form())
    assert answer.status_code == 409
    assert not models.Certificate.objects.exists()


def test_another_workshop_finds_nothing(client, done):
    actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
    otto = make.person(make.workshop(name="Other Works"), "Otto", "owner", password="a long password")
    stranger = signed_in(client, otto)
    for more in ("", "1/", "1.pdf", "correct/", "withdraw/"):
        assert stranger.get(address(done, more)).status_code == 404


def test_the_page_asks_for_the_same_queries_however_many_panels(client):
    shop = make.workshop()
    desk = make.person(shop, "Dora Lind", "desk", password="a long password")
    small = make_finished.finished_job(shop, panels=(("hood", 1),))
    large = make_finished.finished_job(
        shop,
        number="26-0002",
        car=make.vehicle(shop, vin="1M8GDM9AXKP042788"),
        panels=(("hood", 1), ("roof", 1), ("bumper-front", 3)),
    )
    for done in (small, large):
        actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
    client.force_login(desk.user)
    counts = []
    for done in (small, large):
        client.get(address(done))
        with CaptureQueriesContext(connection) as queries:
            assert client.get(address(done)).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1]
