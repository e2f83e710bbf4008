"""The pages of intake: doors, what is typed, what is refused, and what a second sending does."""

import re
from datetime import UTC, datetime
from uuid import uuid4

import pytest
from django.apps import apps
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop import clock
from shop.intake.actions import mark_damage, note_paint, take_in
from shop.models import Consent, Job, Mark, PaintNote, Photo, Receipt, Vehicle, Workshop
from shop.people.identity import SignedIn
from tests import make
from tests.make import NOW, VIN
from tests.photos.pictures import jpeg

pytestmark = pytest.mark.django_db
GOOD = "1M8GDM9AXKP042788"
SIGNED = "[[[100,500],[300,200],[500,700]]]"
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
def desk(dora):
    return client_of(dora)


@pytest.fixture
def job(shop, dora):
    return take_in(
        workshop=shop,
        name="Ana Berg",
        vin=VIN,
        plate="QS 12 ABC",
        model="Sedan",
        colour="grey",
        by=SignedIn(dora),
        now=NOW,
    )


def client_of(person):
    client = Client()
    client.force_login(person.user)
    return client


def arrival(**rest):
    return {
        "key": str(uuid4()),
        "name": "Ana Berg",
        "vin": VIN,
        "plate": "QS 12 ABC",
        "model": "Sedan",
        "colour": "grey",
        "body": "sedan",
        "odometer": "41 200",
    } | rest


def a_mark(**rest):
    given = {"panel": "hood", "kind": "scratch", "x_mil": 250, "y_mil": 700, "note": "", "key": str(uuid4())}
    return {"act": "mark"} | {f"mark-{name}": value for name, value in (given | rest).items()}


def rows():
    return {
        model.__name__: list(model.objects.order_by("pk").values())
        for model in apps.get_models()
        if model.__name__ not in MAY_CHANGE
    }


# --- doors ---------------------------------------------------------------------------------


def addresses(job):
    return (
        "/cars/new/",
        f"/cars/{job.pk}/intake/",
        f"/cars/{job.pk}/change/",
        f"/cars/{job.pk}/call-off/",
        f"/cars/{job.pk}/intake/paint/hood/",
    )


def test_only_desk_and_owner_come_in(shop, job):
    for role, status in (("installer", 403), ("inspector", 403), ("owner", 200)):
        person = make.person(shop, role, role, password="harbour lights 7")
        for address in addresses(job):
            assert client_of(person).get(address).status_code == status, (role, address)
    for address in addresses(job):
        answer = Client().get(address)
        assert answer.status_code == 302
        assert answer["Location"].startswith("/sign-in/")


def test_another_workshops_car_is_not_there(job):
    otto = make.person(a_shop("Mill Lane Films"), "Otto", "desk", "owner", password="harbour lights 7")
    mark = Mark.objects.create(
        job=job, panel=job.vehicle.panels.first(), kind="dent", x_mil=1, y_mil=1, made_at=NOW
    )
    stranger = client_of(otto)
    before = rows()
    for address in (*addresses(job)[1:], f"/cars/{job.pk}/intake/marks/{mark.pk}/"):
        assert stranger.get(address).status_code == 404, address
        assert stranger.post(address, {"key": str(uuid4()), "act": "strike"}).status_code == 404
    assert rows() == before


def test_a_panel_the_car_does_not_have_is_not_there(desk, job):
    assert desk.get(f"/cars/{job.pk}/intake/paint/tailgate/").status_code == 404


# --- a car comes in ---------------------------------------------------------------------------


def test_a_car_comes_in(desk, shop):
    answer = desk.post("/cars/new/", arrival(promised="2026-03-06T17:00"))
    job = Job.objects.get()
    assert (answer.status_code, answer["Location"]) == (302, f"/cars/{job.pk}/intake/")
    assert (job.number, job.odometer_km, job.customer.name.value) == ("26-0001", 41200, "Ana Berg")
    # 17:00 on the wall in Madrid.
    assert job.promised_at == datetime(2026, 3, 6, 16, 0, tzinfo=UTC)


def test_sent_twice_it_comes_in_once(desk):
    sent = arrival()
    first, second = desk.post("/cars/new/", sent), desk.post("/cars/new/", sent)
    assert first["Location"] == second["Location"]
    assert Job.objects.count() == 1
    other = desk.post("/cars/new/", sent | {"name": "Somebody else"})
    assert other.status_code == 409
    assert 'data-reason="key_reused"' in other.text


@pytest.mark.parametrize(
    ("typed", "status", "said"),
    [
        ({"name": ""}, 422, "Type the customer"),
        ({"vin": ""}, 422, "17 characters"),
        ({"vin": "SHORT"}, 409, "has 5"),
        ({"vin": GOOD[:8] + "I" + GOOD[9:]}, 409, "never I, O or Q"),
        ({"vin": "1M8GDM9A1KP042788"}, 409, "confirm it with a reason"),
        ({"vin": "", "chassis": "CH-1"}, 409, "Say why this car has no VIN"),
        ({"odometer": "twelve"}, 422, "Write what the odometer shows"),
        ({"odometer": "41200.5"}, 422, "Write what the odometer shows"),
        ({"odometer": "99999999"}, 409, "The odometer shows whole kilometres"),
        ({"promised": "tomorrow"}, 422, "Give a day and an hour"),
        ({"promised": "2026-03-01T09:00"}, 409, "already past"),
        ({"body": "zeppelin"}, 422, "Pick one of the list"),
        ({"mail": "nowhere"}, 409, "cannot be written to"),
        ({"name": "n" * 201}, 409, "at most 200"),
        ({"key": "old"}, 422, "open it again"),
    ],
)
def test_what_is_wrong_is_a_sentence_and_what_was_typed_stays(desk, typed, status, said):
    before = rows()
    answer = desk.post("/cars/new/", arrival(model="Estate, silver roof", **typed))
    assert answer.status_code == status
    assert said in answer.text
    assert "Estate, silver roof" in answer.text
    assert rows() == before


def test_a_failing_check_digit_is_confirmed_with_a_reason(desk):
    typed = {"vin": "1M8GDM9A1KP042788", "vin_confirmed": "Reads so on the dashboard"}
    assert desk.post("/cars/new/", arrival(**typed)).status_code == 302
    assert Vehicle.objects.get().vin_note == "Reads so on the dashboard"


def test_elsewhere_it_only_informs(desk):
    assert desk.post("/cars/new/", arrival(vin="WZZPP41L5TR041720")).status_code == 302


def test_a_car_without_vin(desk):
    typed = {"vin": "", "chassis": "ch 17", "chassis_reason": "Built in 1968"}
    assert desk.post("/cars/new/", arrival(**typed)).status_code == 302
    assert Vehicle.objects.get().chassis == "CH 17"


def test_fewer_kilometres_open_the_field_for_the_reason(desk, job):
    Job.objects.filter(pk=job.pk).update(odometer_km=50000, cancelled_at=NOW)
    assert "odometer_confirmed" not in desk.get("/cars/new/").text
    answer = desk.post("/cars/new/", arrival())
    assert 'name="odometer_confirmed"' in answer.text
    typed = arrival(odometer_confirmed="New instrument")
    assert desk.post("/cars/new/", typed).status_code == 302


def test_miles_are_kept_as_kilometres(shop):
    us = a_shop("Pier Avenue Films", unit_system=Workshop.Units.US, zone="America/New_York", country="US")
    client = client_of(make.person(us, "Ray", "desk", password="harbour lights 7"))
    assert client.post("/cars/new/", arrival(odometer="25,600")).status_code == 302
    job = Job.objects.get(workshop=us)
    assert job.odometer_km == 41199
    assert "The odometer shows 25600 mi (41199 km)." in client.get(f"/cars/{job.pk}/intake/").text


def test_the_vin_is_judged_as_it_is_typed(desk, job):
    part = desk.get("/cars/new/?part=vin&vin=1M8GDM9A1KP042788")
    assert 'data-reason="vin_check_digit"' in part.text
    assert 'data-weight="waivable"' in part.text
    assert "<form" not in part.text
    assert "check digit fits" in desk.get(f"/cars/new/?part=vin&vin={GOOD}").text
    assert "was here before" in desk.get(f"/cars/new/?part=vin&vin={VIN.lower()}").text
    assert desk.get("/cars/new/?part=vin").text.strip() == ""
    assert desk.get("/cars/new/?part=everything").status_code == 400


def test_a_car_known_here_starts_from_what_is_known(desk, job):
    page = desk.get(f"/cars/new/?vin={VIN}").text
    for value in ("Ana Berg", "QS 12 ABC", "Sedan"):
        assert f'value="{value}"' in page


def test_a_car_known_elsewhere_is_unknown_here(job):
    otto = make.person(a_shop("Mill Lane Films"), "Otto", "desk", password="harbour lights 7")
    page = client_of(otto).get(f"/cars/new/?vin={VIN}").text
    assert "Ana Berg" not in page
    assert "was here before" not in page


@pytest.mark.parametrize(
    "name",
    ["<script>alert(1)</script>", "Zażółć Gęślą-Jaźń", "Ψάξε Ακμή", "O'Brien & Söhne", "n" * 200],
)
def test_a_name_is_shown_as_it_was_written(desk, name):
    assert desk.post("/cars/new/", arrival(name=name, model="<b>Sedan</b>")).status_code == 302
    page = desk.get(f"/cars/{Job.objects.get().pk}/intake/")
    assert page.status_code == 200
    assert "<script>alert" not in page.text
    assert "<b>Sedan" not in page.text
    assert page.context["job"].customer.name.value == name


# --- looking it over ----------------------------------------------------------------------------


def test_a_mark_with_a_photo_is_kept(desk, job):
    photo = SimpleUploadedFile("scratch.jpg", jpeg(), "image/jpeg")
    answer = desk.post(f"/cars/{job.pk}/intake/", a_mark(note="4 cm", photo=photo))
    assert answer.status_code == 302, answer.text
    mark = Mark.objects.get()
    assert (mark.panel.code, mark.kind, mark.x_mil, mark.y_mil, mark.note) == (
        "hood",
        "scratch",
        250,
        700,
        "4 cm",
    )
    page = desk.get(f"/cars/{job.pk}/intake/").text
    assert f"/photos/{mark.photos.get().photo.pk}/screen" in page
    assert 'data-mark="1"' in page


def test_the_same_mark_sent_twice_is_one(desk, job):
    data = jpeg()
    sent = a_mark()
    for _ in range(2):
        photo = SimpleUploadedFile("scratch.jpg", data, "image/jpeg")
        assert desk.post(f"/cars/{job.pk}/intake/", sent | {"mark-photo": photo}).status_code == 302
    assert (Mark.objects.count(), Photo.objects.count()) == (1, 1)


@pytest.mark.parametrize(
    "wrong",
    [
        {"panel": "tailgate"},
        {"panel": ""},
        {"kind": ""},
        {"x_mil": -1},
        {"x_mil": 1001},
        {"y_mil": "left"},
        {"note": "n" * 301},
        {"photo": SimpleUploadedFile("scratch.jpg", b"no picture at all", "image/jpeg")},
        {"photo": SimpleUploadedFile("small.jpg", jpeg((300, 200)), "image/jpeg")},
    ],
)
def test_a_mark_that_cannot_be_leaves_no_trace(desk, job, wrong):
    before = rows()
    answer = desk.post(f"/cars/{job.pk}/intake/", a_mark(**({"note": "by the jet"} | wrong)))
    assert answer.status_code in (409, 422)
    assert "note-wrong" in answer.text
    assert "by the jet" in answer.text or "note" in wrong
    assert rows() == before


def test_a_mark_refused_by_the_verb_keeps_no_photo(desk, job):
    Job.objects.filter(pk=job.pk).update(cancelled_at=NOW)
    before = rows()
    photo = SimpleUploadedFile("scratch.jpg", jpeg(), "image/jpeg")
    answer = desk.post(f"/cars/{job.pk}/intake/", a_mark(photo=photo))
    assert answer.status_code == 409
    assert 'data-reason="job_closed"' in answer.text
    assert rows() == before


def test_a_mark_is_moved_and_struck_out(desk, job, dora):
    mark = mark_damage(job=job, panel="hood", kind="dent", x_mil=100, y_mil=100, by=SignedIn(dora), now=NOW)
    address = f"/cars/{job.pk}/intake/marks/{mark.pk}/"
    moved = {f"m{mark.pk}-{name}": v for name, v in (("key", uuid4()), ("x_mil", 400), ("y_mil", 300))}
    assert desk.post(address, moved).status_code == 302
    mark.refresh_from_db()
    assert (mark.x_mil, mark.y_mil) == (400, 300)
    beside = {f"m{mark.pk}-{name}": v for name, v in (("key", uuid4()), ("x_mil", 4000), ("y_mil", 300))}
    assert desk.post(address, beside).status_code == 422
    assert desk.post(address, {"act": "strike", f"s{mark.pk}-key": str(uuid4())}).status_code == 302
    mark.refresh_from_db()
    assert mark.struck_at == NOW
    assert desk.post(address, moved).status_code == 404


def test_no_such_form_is_a_bad_request(desk, job):
    assert desk.post(f"/cars/{job.pk}/intake/", {"act": "sell"}).status_code == 400
    assert desk.post(f"/cars/{job.pk}/intake/", {}).status_code == 400


def test_doubtful_paint_is_held_and_accepted_in_writing(desk, job):
    sent = {"act": "paint", "paint-key": str(uuid4()), "paint-panel": "hood", "paint-kind": "fresh"}
    answer = desk.post(f"/cars/{job.pk}/intake/", sent)
    address = f"/cars/{job.pk}/intake/paint/hood/"
    assert answer["Location"] == address
    assert "Held: have it accepted" in desk.get(f"/cars/{job.pk}/intake/").text
    before = rows()
    unsigned = desk.post(address, {"accept-key": str(uuid4()), "accept-strokes": ""})
    assert unsigned.status_code == 409
    assert 'data-reason="customer_unsigned"' in unsigned.text
    assert rows() == before
    assert desk.post(address, {"accept-key": str(uuid4()), "accept-strokes": SIGNED}).status_code == 302
    assert not PaintNote.objects.unaccepted(job).exists()
    assert "M100 160L300 64L500 224" in desk.get(address).text


def test_a_note_made_by_mistake_is_struck(desk, job, dora):
    note_paint(job=job, panel="hood", kind="suspect", by=SignedIn(dora), now=NOW)
    address = f"/cars/{job.pk}/intake/paint/hood/"
    sent = {"act": "strike", "strike-key": str(uuid4()), "strike-why": ""}
    assert desk.post(address, sent).status_code == 409
    assert desk.post(address, sent | {"strike-why": "Wrong panel"}).status_code == 302
    assert not PaintNote.objects.standing(job).exists()


def agreement(page, **rest):
    key = re.search(r'name="agree-key" value="([^"]+)"', page)[1]
    sent = {"act": "agree", "agree-key": key, "agree-strokes": SIGNED, "agree-said_at_desk": ["edges"]}
    return sent | {"agree-text_seen": re.search(r'name="agree-text_seen" value="([^"]*)"', page)[1]} | rest


def test_the_customer_signs(desk, job):
    page = desk.get(f"/cars/{job.pk}/intake/").text
    answer = desk.post(f"/cars/{job.pk}/intake/", agreement(page))
    assert answer.status_code == 302, answer.text
    consent = Consent.objects.get()
    assert consent.kind == "intake"
    assert "door jambs" in consent.text
    assert "Signed by the customer" in desk.get(f"/cars/{job.pk}/intake/").text


def test_what_changed_meanwhile_is_read_again_before_it_is_signed(desk, job, dora):
    page = desk.get(f"/cars/{job.pk}/intake/").text
    mark_damage(job=job, panel="roof", kind="dent", x_mil=5, y_mil=5, by=SignedIn(dora), now=NOW)
    answer = desk.post(f"/cars/{job.pk}/intake/", agreement(page))
    assert answer.status_code == 409
    assert 'data-reason="screen_changed"' in answer.text
    assert "Roof: dent" in answer.text
    assert not Consent.objects.exists()


def test_strokes_never_reach_a_receipt_in_plain(desk, job):
    desk.post(f"/cars/{job.pk}/intake/", agreement(desk.get(f"/cars/{job.pk}/intake/").text))
    assert "300" not in str(Receipt.objects.get().answer)


def test_putting_right_keeps_what_was_typed_wrong_off_the_record(desk, job):
    start = arrival(name="Ana Łukasz", plate="NEW 1")
    assert desk.post(f"/cars/{job.pk}/change/", start).status_code == 302
    job = Job.objects.for_page().get(pk=job.pk)
    assert (job.customer.name.value, job.vehicle.plate_text) == ("Ana Łukasz", "NEW 1")
    before = rows()
    answer = desk.post(f"/cars/{job.pk}/change/", arrival(name="Ana B", vin="SHORT"))
    assert answer.status_code == 409
    assert rows() == before


def test_a_job_is_called_off_with_a_reason(desk, job):
    assert desk.post(f"/cars/{job.pk}/call-off/", {"key": str(uuid4()), "why": ""}).status_code == 409
    sent = {"key": str(uuid4()), "why": "Came on the wrong day"}
    assert desk.post(f"/cars/{job.pk}/call-off/", sent)["Location"] == "/cars/"
    assert Job.objects.get().cancelled_at == NOW


# --- the whole page ------------------------------------------------------------------------------


def test_pages_carry_no_style_and_no_script_of_their_own(desk, job, dora):
    mark_damage(job=job, panel="hood", kind="dent", x_mil=5, y_mil=5, by=SignedIn(dora), now=NOW)
    note_paint(job=job, panel="hood", kind="suspect", by=SignedIn(dora), now=NOW)
    for address in addresses(job):
        page = desk.get(address).text
        assert not re.search(r"<style|\sstyle=|<script(?![^>]+src=)|\son[a-z]+=", page), address


def test_more_marks_ask_no_more_of_the_database(desk, job, dora):
    by = SignedIn(dora)
    photo = job.workshop.photos.create(sha256="0" * 64, size=1, type="jpeg", w=1, h=1, kept_at=NOW)

    def queries():
        with CaptureQueriesContext(connection) as seen:
            assert desk.get(f"/cars/{job.pk}/intake/").status_code == 200
        return len(seen)

    mark_damage(job=job, panel="hood", kind="dent", x_mil=5, y_mil=5, photos=[photo], by=by, now=NOW)
    note_paint(job=job, panel="hood", kind="suspect", by=by, now=NOW)
    few = queries()
    for n in range(6):
        panel = ("roof", "door-front-left")[n % 2]
        mark_damage(job=job, panel=panel, kind="dent", x_mil=n, y_mil=5, photos=[photo], by=by, now=NOW)
        note_paint(job=job, panel=panel, kind="suspect", by=by, now=NOW)
    assert queries() == few
    assert few <= 20


def test_the_usual_bodies_come_first(shop, desk):
    for name in ("van", "pickup", "coupe", "hatchback"):
        make.document(shop, "body", f"bodies/{name}.toml")
    page = desk.get("/cars/new/").content.decode()
    found = re.findall(r'<option value="(sedan|hatchback|coupe|pickup|van)"', page)
    assert found == ["sedan", "hatchback", "coupe", "pickup", "van"]
