"""What a stranger is told about a certificate, and what never."""

from datetime import date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop import clock, models
from shop.people.identity import Proven, SignedIn
from shop.public.standing import standing
from shop.record.actions import keep_private
from shop.warranty import actions
from shop.warranty.numbers import short_code
from shop.warranty.removal import take_film_off
from tests import make, make_finished
from tests.kept import kept

pytestmark = pytest.mark.django_db

NOW = make_finished.HANDED_OVER + timedelta(minutes=10)
OWNER = {
    "name": "Wilhelmina Achterberg",
    "phone": "+34 699 000 111",
    "mail": "wilhelmina@home.example",
    "address": "17 Rope Lane, Harbourton",
}
PLATE = "ZX 77 QQP"


@pytest.fixture(autouse=True)
def today():
    with clock.held_at(NOW):
        yield


def on(day: date):
    return clock.held_at(datetime(day.year, day.month, day.day, 12, tzinfo=NOW.tzinfo))


def filmed():
    shop = make.workshop()
    car = make.vehicle(shop, plate=PLATE)
    car.vin_private = keep_private(shop, car.vin)
    car.save()
    done = make_finished.finished_job(
        shop, panels=(("hood", 1), ("fender-left", 1), ("bumper-front", 2)), car=car
    )
    for field, value in OWNER.items():
        setattr(done.job.customer, field, keep_private(shop, value))
    done.job.customer.save()
    return done


@pytest.fixture
def done():
    return kept(filmed)


@pytest.fixture
def revision(done):
    return actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)


@pytest.fixture
def url(revision) -> str:
    return f"/check/{revision.certificate.token}/"


def test_real_and_in_force(client, url, revision):
    page = client.get(url)
    html = page.content.decode()
    assert page.status_code == 200
    for words in (
        "Real, and in force",
        "Certificate 26-0001",
        "three panels until",
        "3 March 2031",
        "3 March 2027",
        "Hood",
        "Left fender",
        "Front bumper",
        "Four-door sedan, grey",
        make.VIN[-4:],
        "deep teal, gloss",
        "Quay Street Film Works",
        "by a second person, who filmed none of it",
    ):
        assert words in html, words
    assert 'data-panel="hood"' in html


def test_nothing_about_the_owner(client, url, done):
    """Neither as it stands nor after a whole VIN was compared."""
    for response in (
        client.get(url),
        client.post(url, {"number": make.VIN}),
        client.post(url, {"number": "1M8GDM9AXKP042788"}),
        client.get("/check/"),
    ):
        html = response.content.decode()
        shown = html.replace(f'value="{make.VIN}"', "")  # what the stranger typed stays in the field
        for value in (*OWNER.values(), PLATE, make.VIN, make.VIN[:-4]):
            assert value not in shown, value
        for word in ("Wilhelmina", "Achterberg", "699", "Rope Lane", "ZX 77"):
            assert word not in shown, word
        # Nor who worked on it, nor the customer's hand.
        for person in (done.ines, done.tom, done.marek, done.dora):
            assert person.name not in shown


def test_values_about_the_owner_are_not_even_read(client, url):
    with CaptureQueriesContext(connection) as queries:
        client.get(url)
    assert not any("shop_private" in query["sql"] for query in queries)


@pytest.mark.parametrize(
    ("day", "verdict", "words"),
    [
        (date(2031, 3, 3), "Real, and in force", "three panels until"),
        (date(2031, 3, 4), "Real, but ended", "three panels ended"),
        (date(2026, 4, 2), "Real, and in force", "until 2 April 2026"),
        (date(2026, 4, 3), "Real, and in force", "ended 2 April 2026"),
    ],
    ids=str,
)
def test_the_state_follows_the_calendar(client, url, day, verdict, words):
    with on(day):
        html = " ".join(client.get(url).content.decode().replace("<span>", "").split())
    assert verdict in html
    assert words in html


def test_today_is_the_workshops_today(client, url):
    # 23:30 UTC on the last day is the next day in Madrid.
    with clock.held_at(datetime(2031, 3, 3, 23, 30, tzinfo=NOW.tzinfo)):
        assert "Real, but ended" in client.get(url).content.decode()


def test_panels_of_different_length_stand_apart(client, done):
    terms = models.Document.objects.in_force(done.shop, "terms")
    terms.body["cover"]["material"]["flat_months"] = 36
    models.Document.objects.filter(pk=terms.pk).update(body=terms.body)
    revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
    url = f"/check/{revision.certificate.token}/"
    html = client.get(url).content.decode()
    assert "Front bumper and left fender until" in html
    assert "Hood until" in html
    assert "3 March 2029" in html
    with on(date(2030, 1, 1)):
        html = client.get(url).content.decode()
    assert "Real, and in force" in html
    assert "Hood ended" in html


def test_withdrawn(client, url, done, revision):
    actions.withdraw(
        certificate=revision.certificate, why="Wilhelmina never paid.", by=Proven(done.petra, "pin"), now=NOW
    )
    html = client.get(url).content.decode()
    assert "Withdrawn" in html
    assert "3 March 2026. It covers nothing any more." in html
    assert "in force" not in html
    assert "never paid" not in html


def test_a_corrected_paper_says_that_it_replaces_earlier_ones(client, url, done, revision):
    models.Vehicle.objects.filter(pk=done.job.vehicle_id).update(colour="dark grey")
    actions.correct(certificate=revision.certificate, reason="Colour.", by=Proven(done.dora, "pin"), now=NOW)
    html = client.get(url).content.decode()
    assert "revision 2; earlier papers of this number are replaced by it" in html
    assert "dark grey" in html


def test_self_release_is_said(client):
    shop = make.workshop(self_release=True)
    done = make_finished.finished_job(
        shop, panels=(("hood", 1),), with_photos=False, checked_by_installer=True
    )
    revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
    assert "checked by the installer" in client.get(f"/check/{revision.certificate.token}/").content.decode()


@pytest.mark.parametrize("typed", [make.VIN, make.VIN.lower(), " zzzpp41l5tr-041720 ", "ZZZPP4IL5TRO4I72O"])
def test_same_car(client, url, typed):
    html = client.post(url, {"number": typed}).content.decode()
    assert "Same car." in html


def test_other_car(client, url):
    html = client.post(url, {"number": "1M8GDM9AXKP042788"}).content.decode()
    assert "Other car." in html
    assert "Same car." not in html


def test_half_a_vin_is_no_try(client, url):
    answer = client.post(url, {"number": make.VIN[:12]})
    assert answer.status_code == 422
    assert "A VIN has 17 characters; this has 12." in answer.content.decode()
    assert not models.Throttle.objects.exists()


def test_guessing_ends(client, url):
    answers = [client.post(url, {"number": f"1M8GDM9AXKP0427{n:02}"}) for n in range(12)]
    assert [answer.status_code for answer in answers] == [200] * 10 + [422] * 2
    html = client.post(url, {"number": make.VIN}).content.decode()
    assert "Same car." not in html
    assert "Too many tries." in html
    with clock.held_at(NOW + timedelta(minutes=21)):
        assert "Same car." in client.post(url, {"number": make.VIN}).content.decode()


def test_a_car_without_a_vin_is_compared_by_its_chassis_number(client):
    shop = make.workshop()
    car = make.vehicle(shop, vin=None, chassis="KIT 77/4 A", chassis_reason="built from a kit")
    done = make_finished.finished_job(shop, car=car, panels=(("hood", 1),), with_photos=False)
    revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
    url = f"/check/{revision.certificate.token}/"
    html = client.get(url).content.decode()
    assert "chassis number ends" in html
    assert "KIT 77" not in html
    assert "Same car." in client.post(url, {"number": "kit77/4a"}).content.decode()


def test_an_erased_number_is_neither(client, url, done):
    number = done.job.vehicle.vin_private
    number.value, number.salt, number.erased_at = "", "", NOW
    number.save()
    html = client.post(url, {"number": make.VIN}).content.decode()
    assert "erased at the owner" in html
    assert "Same car." not in html
    assert "Other car." not in html


def test_the_address_of_the_qr_in_capitals(client, revision):
    page = client.get(f"/CHECK/{revision.certificate.token}/")
    assert page.status_code == 200
    assert "Real, and in force" in page.content.decode()


def test_a_token_typed_by_hand(client, revision):
    page = client.get(f"/check/{revision.certificate.token.lower().replace('0', 'o')}/")
    assert page.status_code == 200


@pytest.mark.parametrize("token", ["0" * 26, "nonsense", "%00", "a" * 500, "..", "26-0001"])
def test_an_unknown_token_is_not_ours(client, revision, token):
    page = client.get(f"/check/{token}/")
    assert page.status_code == 404
    if token not in ("..",):
        assert "Not one of ours" in page.content.decode()


def test_by_the_short_code(client, revision):
    code = short_code(revision.certificate.token)
    for typed in (code, code.lower(), code.replace("-", " "), code.replace("0", "O").replace("1", "l")):
        answer = client.get("/check/", {"code": typed})
        assert (answer.status_code, answer.headers.get("Location")) == (
            302,
            f"/check/{revision.certificate.token}/",
        )


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("", "Type the code"),
        ("26-0001", "That looks like the certificate"),
        ("2600-0129", "There is no certificate with this code"),
        ("ABCD", "A code has eight signs"),
        ("ABCD-EFGH-JKMN", "A code has eight signs"),
    ],
)
def test_a_code_that_leads_nowhere(client, revision, code, words):
    answer = client.get("/check/", {"code": code})
    assert answer.status_code == 422
    assert words in answer.content.decode()


def test_guessing_codes_ends(client, revision):
    for n in range(30):
        client.get("/check/", {"code": f"ZZZZ-ZZ{n:02}"})
    answer = client.get("/check/", {"code": short_code(revision.certificate.token)})
    assert answer.status_code == 422
    assert "Too many tries" in answer.content.decode()


def test_a_code_that_is_found_counts_nothing(client, revision):
    for _ in range(40):
        assert client.get("/check/", {"code": short_code(revision.certificate.token)}).status_code == 302


def test_a_stranger_needs_no_session(client, url):
    page = client.get(url)
    assert "sessionid" not in page.cookies


def test_film_that_came_off_is_covered_no_longer(done, revision, url, client):
    off = NOW.date() + timedelta(days=40)
    later = NOW + timedelta(days=40)
    take_film_off(vehicle=done.job.vehicle, panel="hood", on=off, by=SignedIn(done.dora), now=later)
    with clock.held_at(NOW + timedelta(days=60)):
        found = standing(revision.certificate, now=clock.now())
    hood, fender = (next(p for p in found.panels if p.code == code) for code in ("hood", "fender-left"))
    assert hood.over and max(row.last_day for row in hood.rows) == off
    assert not fender.over and found.code == "in_force"
