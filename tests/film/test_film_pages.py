"""The film room's pages: what is typed in which unit, what is marked, who may, once, and at what price."""

import re
from datetime import date

import pytest
from django.test import Client

from shop import clock
from shop.film.models import Cut, Lot, Material, Roll
from shop.record.models import Entry, Receipt
from tests import make

pytestmark = pytest.mark.django_db
NOW = make.NOW
ROLL = {
    "material": "", "name": "Harbour teal", "colour": "deep teal", "finish": "gloss", "sheet": "", "lot": "L-2209",
    "roll": "R-1", "width": "1520", "length": "15 m", "received_on": "2026-02-20", "opened_on": "",
    "expires_on": "2028-02-20",
}  # fmt: skip
LOT = {
    "kind": "primer", "name": "Corner primer", "lot": "P-7", "received_on": "2026-02-20", "opened_on": "",
    "expires_on": "2026-12-31",
}  # fmt: skip


@pytest.fixture(autouse=True)
def standing_clock():
    clock.set_to(NOW)


@pytest.fixture
def shop():
    return make.workshop()


def signed_in(shop, name, *roles):
    person = make.person(shop, name, *roles, password="harbour lights 7")
    client = Client()
    client.force_login(person.user)
    return client


@pytest.fixture
def desk(shop):
    return signed_in(shop, "Dora", "desk")


def key_of(page) -> str:
    return re.search(r'name="key" value="([^"]+)"', page.text)[1]


def send(client, address, sent):
    return client.post(address, {"key": key_of(client.get(address)), **sent})


def test_an_empty_shelf_says_what_to_do(desk):
    page = desk.get("/film-room/")
    assert "The shelf is empty" in page.text and 'href="/film-room/rolls/new/"' in page.text


def test_a_roll_typed_in_metric_and_read_in_both(desk):
    assert send(desk, "/film-room/rolls/new/", ROLL)["Location"] == "/film-room/"
    roll = Roll.objects.get()
    assert (roll.width_mm, roll.length_mm) == (1520, 15_000)
    shelf = desk.get("/film-room/").text
    assert "1520 mm × 15 m (59.84 in × 49.2 ft)" in shelf and "20 February 2028" in shelf


def test_a_shop_on_us_units_types_and_reads_its_own(shop, desk):
    shop.unit_system = "us"
    shop.save()
    send(desk, "/film-room/rolls/new/", ROLL | {"width": "60", "length": "50 ft"})
    roll = Roll.objects.get()
    assert (roll.width_mm, roll.length_mm) == (1524, 15_240)
    assert "60 in × 50 ft (1524 mm × 15.24 m)" in desk.get("/film-room/").text


def test_a_known_film_is_picked_and_not_made_again(shop, desk):
    make.roll(shop)
    film = Material.objects.get()
    send(desk, "/film-room/rolls/new/", ROLL | {"material": film.pk, "name": "", "lot": "L-9"})
    assert Material.objects.count() == 1 and Roll.objects.count() == 2


def test_an_odd_size_is_asked_back_once(desk):
    sent = ROLL | {"width": "152", "length": "1.5 mm"}
    asked = send(desk, "/film-room/rolls/new/", sent)
    assert asked.status_code == 409 and 'data-reason="roll_size_odd"' in asked.text
    assert "I read width and length twice" in asked.text and 'value="1.5 mm"' in asked.text
    assert not Roll.objects.exists() and not Entry.objects.exists()
    assert "I read width" not in desk.get("/film-room/rolls/new/").text
    assert send(desk, "/film-room/rolls/new/", sent | {"confirmed": "on"}).status_code == 302


@pytest.mark.parametrize(
    ("changed", "status", "said"),
    [
        ({"width": "wide"}, 422, "Write the length as a number and its unit"),
        ({"width": "15 parsecs"}, 422, "is no unit of length here"),
        ({"length": ""}, 422, "This cannot stay empty."),
        ({"lot": ""}, 422, "Copy it from the label."),
        ({"expires_on": "31.12.2028"}, 422, "Write a day as year-month-day"),
        ({"expires_on": "2026-01-01"}, 409, "It had expired before it was received"),
        ({"received_on": "2026-03-03"}, 409, "still to come"),
        ({"name": ""}, 409, "Give the film a name"),
        ({"material": "999"}, 422, "Pick one of the list."),
    ],
)
def test_a_refused_roll_keeps_what_was_typed_and_no_row(desk, changed, status, said):
    page = send(desk, "/film-room/rolls/new/", ROLL | {"colour": "blue & <green>"} | changed)
    assert page.status_code == status and said in page.text
    assert "blue &amp; &lt;green&gt;" in page.text
    for model in (Roll, Lot, Material, Entry, Receipt):
        assert not model.objects.exists()


def test_sent_twice_is_one_roll_and_one_lot(desk):
    for address, sent, model in (("/film-room/rolls/new/", ROLL, Roll), ("/film-room/lots/new/", LOT, Entry)):
        sent = {"key": key_of(desk.get(address)), **sent}
        before = model.objects.count()
        assert {desk.post(address, sent).status_code for _ in range(2)} == {302}
        assert model.objects.count() == before + 1


def test_expired_and_held_stock_says_so_in_words(shop, desk):
    make.roll(shop, lot="L-1", code="R-1", expires_on=date(2026, 3, 1))
    make.roll(shop, lot="L-1", code="R-2", expires_on=date(2026, 3, 2))
    lot = Lot.objects.get()
    shelf = desk.get("/film-room/").text
    assert shelf.count("Expired on 1 March 2026") == 1 and "Expired on 2 March" not in shelf
    send(desk, f"/film-room/lots/{lot.pk}/quarantine/", {"reason": "silvering on two cars"})
    assert desk.get("/film-room/").text.count("In quarantine: silvering on two cars") == 2
    page = desk.get(f"/film-room/lots/{lot.pk}/").text
    assert "Held back since 2 March 2026, 10:00" in page and "Free it" in page
    assert send(desk, f"/film-room/lots/{lot.pk}/free/", {"reason": ""}).status_code == 422
    send(desk, f"/film-room/lots/{lot.pk}/free/", {"reason": "supplier tested it"})
    assert "In quarantine" not in desk.get("/film-room/").text


def test_what_is_left_of_a_roll(shop, desk):
    roll = make.roll(shop)
    for length_mm in (2_100, 1_900):
        Cut.objects.create(roll=roll, length_mm=length_mm, made_at=NOW)
    assert ">11 m<" in desk.get("/film-room/").text


def test_the_day_of_opening(shop, desk):
    roll = make.roll(shop)
    send(desk, f"/film-room/rolls/{roll.pk}/opened/", {"opened_on": "2026-03-02"})
    roll.refresh_from_db()
    assert roll.opened_on == date(2026, 3, 2)
    again = send(desk, f"/film-room/rolls/{roll.pk}/opened/", {"opened_on": "2026-03-02"})
    assert again.status_code == 409 and "was opened on 2 March 2026 already" in again.text
    send(desk, "/film-room/lots/new/", LOT)
    lot = Lot.objects.get(code="P-7")
    assert send(desk, f"/film-room/lots/{lot.pk}/opened/", {"opened_on": "2026-03-01"}).status_code == 302


ACTS = ["/film-room/rolls/new/", "/film-room/lots/new/", "/film-room/lots/{lot}/quarantine/"]
ACTS += ["/film-room/lots/{lot}/free/", "/film-room/lots/{lot}/opened/", "/film-room/rolls/{roll}/opened/"]
READS = ["/film-room/", "/film-room/lots/{lot}/"]


def test_doors(shop, desk):
    roll = make.roll(shop)
    acts, reads = ([a.format(lot=roll.lot_id, roll=roll.pk) for a in each] for each in (ACTS, READS))
    for address in acts + reads:
        assert Client().get(address).status_code == 302
        assert desk.get(address).status_code == 200
    ines = signed_in(shop, "Ines", "installer", "inspector")
    assert {ines.get(a).status_code for a in reads} == {200}
    assert {ines.get(a).status_code for a in acts} == {ines.post(a, {}).status_code for a in acts} == {403}
    assert "Hold it back" not in ines.get(reads[1]).text
    otto = signed_in(make.workshop(name="Another"), "Otto", "owner")
    theirs = [a for a in acts + reads if re.search(r"\d", a)]
    assert {otto.get(a).status_code for a in theirs} == {404}
    assert {otto.post(a, {}).status_code for a in theirs if a in acts} == {404}
    assert "Harbour teal" not in otto.get("/film-room/").text + otto.get("/film-room/rolls/new/").text


def test_films_of_another_workshop_cannot_be_picked(shop, desk):
    other = make.workshop(name="Another")
    theirs = make.roll(other).lot.material
    page = send(desk, "/film-room/rolls/new/", ROLL | {"material": theirs.pk})
    assert page.status_code == 422 and not Roll.objects.filter(lot__material__workshop=shop).exists()


@pytest.mark.parametrize("address", ["/film-room/", "/film-room/lots/{lot}/", "/film-room/rolls/new/"])
def test_many_rolls_cost_no_more_queries_than_few(shop, desk, address, django_assert_max_num_queries):
    sheet = make.document(shop, "film", "films/defaults.toml")
    first = make.roll(shop, sheet=sheet)
    address = address.format(lot=first.lot_id)

    def count():
        with django_assert_max_num_queries(40) as seen:
            assert desk.get(address).status_code == 200
        return len(seen)

    few = count()
    for number in range(8):
        make.roll(shop, code=f"M-{number}")
        film = Material.objects.create(workshop=shop, kind="film", name=f"More {number}", sheet=sheet)
        lot = Lot.objects.create(material=film, code="L", received_on=date(2026, 1, 10))
        Roll.objects.create(
            lot=lot,
            code="R",
            width_mm=1520,
            length_mm=15_000,
            received_on=lot.received_on,
            expires_on=date(2028, 1, 1),
        )
        wet = Material.objects.create(workshop=shop, kind="tack", name=f"Mix {number}")
        Lot.objects.create(material=wet, code="T", received_on=date(2026, 1, 10))
    assert count() == few
