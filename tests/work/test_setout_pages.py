"""The pages of set-out and the list of cars: doors, what is typed, what is refused, what is drawn."""

import re
from uuid import uuid4

import pytest
from django.apps import apps
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop import clock
from shop.intake.actions import cancel_job, take_in
from shop.models import Fitting, FittingEdge, Job, Person, Waiver, Workshop
from shop.people.identity import SignedIn
from shop.work.setout import set_out
from tests import make
from tests.make import NOW, PIN, VIN

pytestmark = pytest.mark.django_db
MAY_CHANGE = {"Receipt", "Throttle", "Session"}


@pytest.fixture(autouse=True)
def standing_clock():
    clock.set_to(NOW)


def a_shop(name="Quay Street Film Works", **rest):
    shop = make.workshop(name=name, **rest)
    for kind, path in (
        ("plan", "plans/builtin.toml"),
        ("body", "bodies/sedan.toml"),
        ("roles", "roles.toml"),
        ("film", "films/defaults.toml"),
    ):
        make.document(shop, kind, path)
    return shop


@pytest.fixture
def shop():
    return a_shop()


@pytest.fixture
def dora(shop):
    return make.person(shop, "Dora", "desk", password="harbour lights 7")


@pytest.fixture
def ines(shop):
    return make.person(shop, "Ines", "installer", password="harbour lights 7")


@pytest.fixture
def desk(dora):
    return client_of(dora)


def a_car(shop, dora, vin=VIN):
    return take_in(
        workshop=shop, name="Ana Berg", vin=vin, model="Sedan", colour="grey", by=SignedIn(dora), now=NOW
    )


@pytest.fixture
def job(shop, dora):
    return a_car(shop, dora)


def client_of(person):
    client = Client()
    client.force_login(person.user)
    return client


def rows():
    return {
        model.__name__: list(model.objects.order_by("pk").values())
        for model in apps.get_models()
        if model.__name__ not in MAY_CHANGE
    }


def as_shown(page, **rest):
    """What a browser sends when the form is sent just as it is shown."""
    form = page.context["form"]
    sent = {}
    for field in form:
        value = field.value()
        if value not in (None, False, "", []):
            sent[field.html_name] = "on" if value is True else value
    return sent | {"key": str(uuid4())} | rest


def many(**rest):
    return {"key": str(uuid4()), "panels": ["hood", "fender-left"], "cut": "", "cover": "", "roll": ""} | rest


def test_doors(shop, dora, ines, job):
    set_out(job=job, panel="hood", pieces=[{}], by=SignedIn(dora), now=NOW)
    addresses = (f"/cars/{job.pk}/set-out/", f"/cars/{job.pk}/set-out/hood/")
    otto = make.person(a_shop("Mill Lane Films"), "Otto", "desk", "owner", password="harbour lights 7")
    stranger, floor, elsewhere = Client(), client_of(ines), client_of(otto)
    before = rows()
    for address in addresses:
        assert stranger.get(address).status_code == 302
        assert floor.get(address).status_code == 403
        assert elsewhere.get(address).status_code == 404
        for client in (stranger, floor, elsewhere):
            assert client.post(address, many()).status_code in (302, 403, 404)
    assert rows() == before
    assert floor.get("/cars/").status_code == 200
    assert stranger.get("/cars/").status_code == 302


def test_a_panel_the_body_does_not_have_is_not_there(desk, job):
    assert desk.get(f"/cars/{job.pk}/set-out/tailgate/").status_code == 404


def test_panels_are_chosen_and_set_out_the_same(desk, job, shop, ines):
    roll = make.roll(shop)
    sent = many(roll=roll.pk, people=[ines.pk], cut="pre_cut")
    assert desk.post(f"/cars/{job.pk}/set-out/", sent)["Location"] == f"/cars/{job.pk}/set-out/"
    assert desk.post(f"/cars/{job.pk}/set-out/", sent).status_code == 302
    assert Fitting.objects.count() == 2
    hood = Fitting.objects.get(panel__code="hood")
    assert (hood.roll, hood.cut, hood.cover) == (roll, "pre_cut", "full")
    page = desk.get(f"/cars/{job.pk}/set-out/").text
    assert "pre-cut, full, roll R-1, lot L-2209, Ines" in page
    assert 'role="checkbox"' in page


@pytest.mark.parametrize(
    "wrong",
    [{"panels": []}, {"panels": ["tailgate"]}, {"cut": "torn"}, {"roll": "999"}, {"people": ["999"]}],
)
def test_what_cannot_be_set_out_leaves_no_trace(desk, job, wrong):
    before = rows()
    answer = desk.post(f"/cars/{job.pk}/set-out/", many(**wrong))
    assert answer.status_code == 422
    assert "note-wrong" in answer.text
    assert rows() == before


def test_the_chosen_panels_stay_chosen_after_a_refusal(desk, job):
    answer = desk.post(f"/cars/{job.pk}/set-out/", many(roll="999"))
    assert re.search(r'value="fender-left" checked', answer.text)
    assert not re.search(r'value="roof" checked', answer.text)
    assert answer.text.count('aria-checked="true"') == 2


def test_one_panel_is_set_out_edge_by_edge(desk, job, shop, ines):
    address = f"/cars/{job.pk}/set-out/hood/"
    page = desk.get(address)
    sent = as_shown(page) | {"finish-cowl": "wrapped", "return-cowl": "11", "people": [ines.pk]}
    del sent["primer-cowl-left"]
    assert desk.post(address, sent)["Location"] == address
    hood = Fitting.objects.get()
    edges = {edge.code: edge for edge in hood.edges.all()}
    assert (edges["cowl"].finish, edges["cowl"].return_mm) == ("wrapped", 11)
    assert (edges["front"].finish, edges["front"].return_mm) == ("wrapped", 8)
    assert (edges["cowl-left"].primer, edges["cowl-right"].primer) == (False, True)
    assert [named.person for named in hood.people.all()] == [ines]
    again = desk.get(address)
    assert "Cowl edge · wrapped 11 mm" in again.text
    assert 'data-reason="two_people_missing"' in again.text
    before = list(FittingEdge.objects.values())
    assert desk.post(address, as_shown(again)).status_code == 302
    assert list(FittingEdge.objects.values()) == before


def test_a_shallow_return_is_asked_about_and_an_empty_one_gets_the_sheets_own(desk, job):
    address = f"/cars/{job.pk}/set-out/hood/"
    sent = as_shown(desk.get(address)) | {"return-front": "4", "finish-cowl": "wrapped"}
    assert desk.post(address, sent).status_code == 302
    page = desk.get(address).text
    assert 'data-reason="return_short"' in page
    assert "4 mm seldom holds; the least is 6 mm" in page
    assert FittingEdge.objects.get(code="cowl").return_mm == 6


@pytest.mark.parametrize(
    ("field", "value", "status"),
    [
        ("return-front", "deep", 422),
        ("return-front", "8 m", 409),
        ("return-front", "", 409),
        ("finish-front", "glued", 422),
        ("pieces", "9", 422),
        ("material", "wood", 422),
        ("features", ["wings"], 422),
    ],
)
def test_nonsense_on_an_edge_leaves_no_trace(desk, job, field, value, status):
    address = f"/cars/{job.pk}/set-out/hood/"
    sent = as_shown(desk.get(address)) | {field: value, "cut": "pre_cut"}
    before = rows()
    answer = desk.post(address, sent)
    assert answer.status_code == status
    assert re.search(r'<option value="pre_cut" selected', answer.text)
    assert rows() == before


def test_inches_are_typed_where_the_shop_uses_them():
    shop = a_shop("Pier Avenue Films", unit_system=Workshop.Units.US)
    ray = make.person(shop, "Ray", "desk", password="harbour lights 7")
    job, desk = a_car(shop, ray), client_of(ray)
    address = f"/cars/{job.pk}/set-out/hood/"
    sent = as_shown(desk.get(address)) | {"return-front": "1/2"}
    assert sent["return-left"] == "0.31"
    assert desk.post(address, sent).status_code == 302
    assert FittingEdge.objects.get(code="front").return_mm == 13
    assert FittingEdge.objects.get(code="left").return_mm == 8


def test_left_and_right_alike(desk, job):
    address = f"/cars/{job.pk}/set-out/door-front-left/"
    sent = as_shown(desk.get(address), mirror="on") | {"finish-belt": "flush"}
    assert desk.post(address, sent).status_code == 302
    for code in ("door-front-left", "door-front-right"):
        assert FittingEdge.objects.get(fitting__panel__code=code, code="belt").finish == "flush"
    assert "The same on the other side" not in desk.get(f"/cars/{job.pk}/set-out/hood/").text


def test_a_bumper_in_two_pieces_and_in_one_again(desk, job):
    address = f"/cars/{job.pk}/set-out/bumper-front/"
    assert desk.post(address, as_shown(desk.get(address), pieces="2")).status_code == 302
    left, right = Fitting.objects.live().order_by("piece")
    ends = {row: {e.code for e in row.edges.exclude(finish="open")} for row in (left, right)}
    assert "seam-1" in ends[left] & ends[right]
    assert "arch-left" in ends[left] - ends[right]
    assert "arch-right" in ends[right] - ends[left]
    page = desk.get(address)
    assert "on piece" in page.text
    moved = as_shown(page) | {"on-top": ["2"]}
    assert desk.post(address, moved).status_code == 302
    assert left.edges.get(code="top").finish == "open"
    assert right.edges.get(code="top").finish != "open"
    assert desk.post(address, as_shown(desk.get(address), pieces="1")).status_code == 302
    [one] = Fitting.objects.live()
    assert one.pk == left.pk
    assert one.edges.get(code="top").finish == "wrapped"
    assert one.edges.get(code="seam-1").finish == "open"


def mixed(desk, job, shop):
    first, second = make.roll(shop), make.roll(shop, lot="L-3001", code="R-9")
    desk.post(f"/cars/{job.pk}/set-out/", many(roll=first.pk, panels=["hood"]))
    return many(roll=second.pk, panels=["roof"])


def test_two_lots_on_one_car_want_the_owners_pin(desk, job, shop):
    petra = make.person(shop, "Petra", "owner")
    address = f"/cars/{job.pk}/set-out/"
    assert 'name="mixed_pin"' not in desk.get(address).text
    sent = mixed(desk, job, shop)
    before = rows()
    asked = desk.post(address, sent)
    assert asked.status_code == 409
    assert 'data-reason="lots_mixed"' in asked.text
    assert 'name="mixed_pin"' in asked.text
    nobody = desk.post(address, sent | {"mixed_why": "Same shade side by side"})
    assert 'data-reason="field_missing"' in nobody.text
    assert rows() == before
    word = {"mixed_why": "Same shade side by side", "mixed_by": petra.pk}
    wrong = desk.post(address, sent | word | {"mixed_pin": "000000"})
    assert 'data-reason="pin_wrong"' in wrong.text
    assert Person.objects.get(pk=petra.pk).misses == 1
    assert not Waiver.objects.exists()
    assert PIN not in desk.post(address, sent | word | {"mixed_pin": PIN, "cut": "torn"}).text
    assert desk.post(address, sent | word | {"mixed_pin": PIN}).status_code == 302
    waiver = Waiver.objects.get()
    assert (waiver.code, waiver.person, waiver.why) == ("lots_mixed", petra, "Same shade side by side")
    assert Fitting.objects.get(panel__code="roof").roll.code == "R-9"


def test_the_desk_cannot_let_two_lots_pass(desk, job, shop, dora):
    make.person(shop, "Petra", "owner")
    sent = mixed(desk, job, shop) | {"mixed_why": "I say so", "mixed_by": dora.pk, "mixed_pin": PIN}
    assert desk.post(f"/cars/{job.pk}/set-out/", sent).status_code == 422
    assert not Waiver.objects.exists()


def test_a_panel_is_taken_off_again(desk, job):
    address = f"/cars/{job.pk}/set-out/hood/"
    desk.post(address, as_shown(desk.get(address)))
    sent = {"act": "take_off", "off-key": str(uuid4())}
    assert desk.post(address, sent)["Location"] == f"/cars/{job.pk}/set-out/"
    assert not Fitting.objects.live().exists()
    again = desk.post(address, {"act": "take_off", "off-key": str(uuid4())})
    assert again.status_code == 409
    assert 'data-reason="not_asked"' in again.text


def test_the_drawing_follows_what_is_typed(desk, job):
    address = f"/cars/{job.pk}/set-out/hood/"
    part = desk.get(
        address, {"part": "drawing", "finish-cowl": "short", "return-cowl": "", "finish-front": "x"}
    )
    assert "Cowl edge · short" in part.text
    assert "<form" not in part.text
    assert "not answered" not in part.text
    assert desk.get(address, {"part": "everything"}).status_code == 400
    hostile = desk.get(address, {"part": "drawing", "finish-cowl": "wrapped", "return-cowl": "<b>9</b>"})
    assert "<b>" not in hostile.text


def test_pages_carry_no_style_and_no_script_of_their_own(desk, job):
    address = f"/cars/{job.pk}/set-out/hood/"
    desk.post(address, as_shown(desk.get(address)))
    for page in (address, f"/cars/{job.pk}/set-out/", "/cars/"):
        text = desk.get(page).text
        assert not re.search(r"<style|\sstyle=|<script(?![^>]+src=)|\son[a-z]+=", text), page


def queries(client, address):
    with CaptureQueriesContext(connection) as seen:
        assert client.get(address).status_code == 200
    return len(seen)


def test_more_panels_ask_no_more_of_the_database(desk, job, shop, ines):
    roll = make.roll(shop)
    address = f"/cars/{job.pk}/set-out/"
    desk.post(address, many(panels=["hood"], roll=roll.pk, people=[ines.pk]))
    few = queries(desk, address)
    desk.post(address, many(panels=["roof", "fender-left", "fender-right"], roll=roll.pk, people=[ines.pk]))
    assert queries(desk, address) == few
    assert few <= 20


def test_cars_here_and_gone(desk, shop, dora, job):
    assert "The set-out" in desk.get("/cars/").text
    few = queries(desk, "/cars/")
    others = [a_car(shop, dora, vin) for vin in ("1M8GDM9AXKP042788", "1J9RP1A36A1644345")]
    assert queries(desk, "/cars/") == few
    cancel_job(job=others[0], why="came on the wrong day", by=SignedIn(dora), now=NOW)
    page = desk.get("/cars/")
    here = [row["job"].pk for _, _, rows in page.context["groups"] for row in rows]
    assert here == [job.pk, others[1].pk]
    assert [row.pk for row in page.context["gone"]] == [others[0].pk]
    assert "called off 2 March 2026" in page.text
    assert Job.objects.count() == 3


def test_an_empty_shop_says_what_to_do(desk, ines):
    assert "No car is here" in desk.get("/cars/").text
    assert 'href="/cars/new/"' in desk.get("/cars/").text
    assert 'href="/cars/new/"' not in client_of(ines).get("/cars/").text
