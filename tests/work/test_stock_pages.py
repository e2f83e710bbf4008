"""The film room's pages with cars on them: what is planned and free, cuts, offcuts, mixes, what is kept back."""

import re

import pytest
from django.test import Client

from shop import clock, models
from shop.record.models import Entry
from tests.work.day import Day

pytestmark = pytest.mark.django_db


@pytest.fixture
def day():
    day = Day()
    day.set_out("hood")
    clock.set_to(day.now)
    return day


def client_of(day, person):
    from django.contrib.auth.models import User

    person.user = User.objects.create_user(username=f"p{person.pk}", password="harbour lights 7")
    person.save()
    client = Client()
    client.force_login(person.user)
    return client


@pytest.fixture
def desk(day):
    return client_of(day, day.petra)


def send(client, address, **sent):
    key = re.search(r'name="key" value="([^"]+)"', client.get(address).text)[1]
    return client.post(address, {"key": key, **sent})


def cells(page, label: str) -> list[str]:
    return re.findall(rf'data-label="{label}">(?:<div>)?([^<]*)<', page.text)


def test_the_shelf_says_what_is_left_planned_and_free(desk):
    page = desk.get("/film-room/")
    assert [cells(page, name) for name in ("Left", "Planned", "Free")] == [["15 m"], ["1.4 m"], ["13.6 m"]]


def test_a_cut_from_its_page_starts_with_what_the_piece_takes(day, desk):
    piece = models.Fitting.objects.get()
    address = f"/film-room/rolls/{day.roll.pk}/cut/"
    shown = desk.get(f"{address}?piece={piece.pk}").text
    assert 'value="1.4 m"' in shown and "Hood, job 26-0001" in shown
    assert desk.get(f"{address}?piece=²").status_code == 200
    assert send(desk, address, piece=piece.pk, length="1.38 m", width="")["Location"].endswith(
        f"/{day.roll.pk}/"
    )
    page = desk.get(f"/film-room/rolls/{day.roll.pk}/").text
    assert "1.38 m" in page and "13.62 m" in page and "Waiting to be cut" not in page
    assert "Nothing waits for this roll" in desk.get(address).text


def test_a_cut_longer_than_the_book_has_is_asked_back_once(day, desk):
    models.Cut.objects.create(roll=day.roll, length_mm=14_000, made_at=day.now)
    piece, address = models.Fitting.objects.get(), f"/film-room/rolls/{day.roll.pk}/cut/"
    asked = send(desk, address, piece=piece.pk, length="1.4 m", width="")
    assert (
        asked.status_code == 409
        and 'data-reason="roll_short"' in asked.text
        and "It was measured" in asked.text
    )
    assert send(desk, address, piece=piece.pk, length="1.4 m", width="", confirmed="on").status_code == 302
    assert "More was cut than it held" in desk.get("/film-room/").text


def test_an_offcut_goes_on_its_shelf_and_onto_a_car(day, desk):
    address = f"/film-room/rolls/{day.roll.pk}/offcut/"
    assert (
        send(desk, address, width="1.5 m", length="1.5 m", shelf="", off_the_roll="roll").status_code == 422
    )
    assert (
        send(desk, address, width="1.5 m", length="1.5 m", shelf="B 2", off_the_roll="roll").status_code
        == 302
    )
    offcut = models.Offcut.objects.get()
    assert "B 2" in desk.get("/film-room/offcuts/").text
    assert cells(desk.get("/film-room/"), "Left") == ["13.5 m"]
    lay = f"/film-room/offcuts/{offcut.pk}/lay/"
    assert send(desk, lay, piece=models.Fitting.objects.get().pk).status_code == 302
    assert "No offcuts" in desk.get("/film-room/offcuts/").text and desk.get(lay).status_code == 404


def test_scrap_says_why(day, desk):
    address = f"/film-room/rolls/{day.roll.pk}/scrap/"
    assert send(desk, address, length="0.5 m", reason="").status_code == 422
    assert send(desk, address, length="0.5 m", reason="crease at the core").status_code == 302
    assert "crease at the core" in desk.get(f"/film-room/rolls/{day.roll.pk}/").text
    send(
        desk,
        f"/film-room/rolls/{day.roll.pk}/offcut/",
        width="0.5 m",
        length="1 m",
        shelf="C",
        off_the_roll="left",
    )
    offcut = models.Offcut.objects.get()
    assert send(desk, f"/film-room/offcuts/{offcut.pk}/scrap/", reason="dust on the glue").status_code == 302
    assert Entry.objects.filter(verb="scrap").count() == 2


def test_film_kept_back_warns_before_it_is_cut_into(day, desk):
    lot = day.roll.lot
    address = f"/film-room/lots/{lot.pk}/reserve/"
    assert send(desk, address, length="3 parsecs").status_code == 422
    assert send(desk, address, length="13 m").status_code == 302
    assert "reserve_low" not in desk.get(f"/film-room/lots/{lot.pk}/").text
    assert "Keep 13 m of this lot for cars under cover<" in desk.get("/film-room/").text
    send(desk, address, length="14 m")
    assert 'data-reason="reserve_low"' in desk.get(f"/film-room/lots/{lot.pk}/").text
    assert "only 13.6 m are free" in desk.get("/film-room/").text
    set_out = desk.get(f"/cars/{day.job.pk}/set-out/hood/").text
    assert 'data-reason="reserve_low"' in set_out and "takes 1.4 m" in set_out


def test_the_lot_names_the_cars_that_carry_it(day, desk):
    assert "Hood, job 26-0001" in desk.get(f"/film-room/lots/{day.roll.lot_id}/").text


def test_mixing_asks_which_way_the_ratio_is_meant(day, desk):
    slip = models.Lot.objects.get(code="S-1")
    address, sent = "/film-room/mixes/new/", {"lot": slip.pk, "total": "1 l", "ratio": "1:10"}
    asked = send(desk, address, **sent)
    assert asked.status_code == 409 and "Say how the ratio is meant" in asked.text
    assert not models.Mix.objects.exists()
    assert send(desk, address, **sent, meant="plus").status_code == 302
    page = desk.get("/film-room/mixes/").text
    assert "90.9 ml" in page and "S260302-1" in page and "1:10, one part and the rest water" in page
    assert "Measure 90.9 ml of Harbour slip, then fill up with filtered water to 1 l." in page
    assert (
        send(desk, address, lot=slip.pk, total="1 l", stock_strength="99", wanted_strength="70,0").status_code
        == 302
    )
    assert "707.1 ml" in desk.get("/film-room/mixes/").text
    assert send(desk, address, lot=slip.pk, total="1 l", stock_strength="strong").status_code == 422


def test_what_is_known_of_a_film_is_put_right_by_page(day, desk):
    film = day.roll.lot.material
    sent = {"colour": "teal", "finish": "satin", "directional": "on", "sheet": day.sheet.pk}
    assert send(desk, f"/film-room/films/{film.pk}/", **sent).status_code == 302
    film.refresh_from_db()
    assert film.directional and film.finish == "satin"


def test_an_installer_cuts_and_mixes_but_keeps_nothing_back(day):
    ines = client_of(day, day.ines)
    for address, status in (
        (f"/film-room/rolls/{day.roll.pk}/cut/", 200),
        ("/film-room/mixes/new/", 200),
        (f"/film-room/rolls/{day.roll.pk}/offcut/", 200),
        (f"/film-room/lots/{day.roll.lot_id}/reserve/", 403),
        (f"/film-room/films/{day.roll.lot.material_id}/", 403),
    ):
        assert ines.get(address).status_code == status, address


def test_more_rolls_and_cars_cost_no_more_queries(day, desk, django_assert_max_num_queries):
    with django_assert_max_num_queries(40) as few:
        desk.get("/film-room/")
    day.set_out("roof", "trunk-lid", "fender-left")
    with django_assert_max_num_queries(len(few.captured_queries)):
        desk.get("/film-room/")


def test_a_stripe_is_offered_set_out_and_worked_by_page(day, desk):
    assert 'value="stripe-1"' in desk.get(f"/cars/{day.job.pk}/set-out/").text
    page = desk.get(f"/cars/{day.job.pk}/set-out/stripe-1/")
    assert (
        page.status_code == 200
        and 'data-edge="start"' in page.text
        and "A stripe is a film of its own" in page.text
    )
    day.set_out("stripe-1")
    assert 'value="stripe-2"' in desk.get(f"/cars/{day.job.pk}/set-out/").text
    for address in (
        f"/cars/{day.job.pk}/",
        f"/cars/{day.job.pk}/set-out/stripe-1/",
        f"/bay/{day.job.pk}/",
        f"/bay/{day.job.pk}/stripe-1.1/tack/",
        f"/bay/{day.job.pk}/stripe-1.1/tack/wrong/",
        "/film-room/",
    ):
        assert desk.get(address).status_code == 200, address
    assert desk.get(f"/cars/{day.job.pk}/set-out/stripe-0/").status_code == 404
