"""A car looked over: paint measured, devices tried, both signatures, and the sheet that says all of it."""

from uuid import uuid4

import pytest
from django.test import Client

from shop import clock, models
from shop.intake.actions import (
    accept_paint,
    agree_intake,
    measure_paint,
    note_paint,
    strike_spot,
    take_in,
    try_devices,
)
from shop.intake.agreement import SAID, intake_text
from shop.intake.devices import tried
from shop.intake.gauge import differs_um10, gauged
from shop.intake.sheet_paper import intake_sheet, sheet_context
from shop.keep.belongings import belongings_of
from shop.people.identity import SignedIn
from shop.reasons import Refused
from tests import make
from tests.make import NOW, VIN

pytestmark = pytest.mark.django_db
HAND = [[[100, 500], [300, 200], [500, 700]]]


@pytest.fixture(autouse=True)
def standing_clock():
    clock.set_to(NOW)


@pytest.fixture
def shop():
    row = make.workshop()
    for kind, path in (
        ("plan", "plans/builtin.toml"),
        ("body", "bodies/sedan.toml"),
        ("roles", "roles.toml"),
    ):
        make.document(row, kind, path)
    return row


@pytest.fixture
def dora(shop):
    return make.person(shop, "Dora", "desk", password="harbour lights 7")


@pytest.fixture
def job(shop, dora):
    return take_in(
        workshop=shop,
        name="Ana Berg",
        vin=VIN,
        model="four-door sedan",
        colour="grey",
        by=SignedIn(dora),
        now=NOW,
    )


@pytest.fixture
def measure(job, dora):
    return lambda panel, *readings: measure_paint(
        job=job, panel=panel, readings_um10=list(readings), by=SignedIn(dora), now=NOW
    )


def codes(refused) -> list[str]:
    return [reason.code for reason in refused.value.reasons]


# ------------------------------------------------------------------ paint gauge


def test_a_spot_keeps_its_readings_and_their_mean(measure, job):
    spot = measure("hood", 1180, 1210, 1190)
    assert (spot.readings_um10, spot.thickness_um10) == ([1180, 1210, 1190], 1193)
    entry = models.Entry.objects.get(verb="measure_paint")
    assert '"thickness_um10":1193' in entry.body


@pytest.mark.parametrize(
    ("panel", "readings", "says"),
    [
        ("hood", (1180, 1190), "2 are too few"),
        ("hood", (), "0 are too few"),
        ("bumper-front", (1180, 1190, 1200), "metal only"),
        ("hood", (1180, 1190, -1), "below nought"),
        ("hood", (1180, 1190, 90_000), "look at the unit"),
        ("hood", (1180,) * 21, "at most 20"),
        ("hood", ("118", "119", "120"), "A reading is a number"),
    ],
)
def test_a_spot_that_cannot_be_is_refused(measure, panel, readings, says):
    with pytest.raises(Refused, match=says):
        measure(panel, *readings)
    assert not models.PaintSpot.objects.exists()


@pytest.mark.parametrize(
    ("roof", "out"),
    [
        (1550, []),  # 400 from the median of 1150, which is the limit itself
        (1560, ["roof"]),
        (760, []),  # the median is 1150 still
        (740, ["roof"]),
        (2600, ["roof"]),
    ],
)
def test_a_panel_far_from_the_cars_median_stands_out(measure, job, roof, out):
    for panel, thickness in (("hood", 1150), ("trunk-lid", 1150), ("fender-left", 1150), ("roof", roof)):
        measure(panel, thickness, thickness, thickness)
    assert [one.code for one in gauged(job) if one.stands_out] == out


def test_the_limit_comes_from_the_plan(job):
    assert differs_um10(job.plan.body) == 400
    assert differs_um10({"paint": {"differs_um10": 250}}) == 250
    assert differs_um10({}) == 400


def test_a_spot_struck_out_counts_no_more(measure, job, dora):
    for panel in ("hood", "trunk-lid", "fender-left"):
        measure(panel, 1150, 1150, 1150)
    wrong = measure("roof", 2600, 2600, 2600)
    strike_spot(spot=wrong, why="on a badge", by=SignedIn(dora), now=NOW)
    assert [one.code for one in gauged(job)] == ["hood", "trunk-lid", "fender-left"]
    with pytest.raises(Refused) as refused:
        strike_spot(spot=wrong, by=SignedIn(dora), now=NOW)
    assert codes(refused) == ["superseded"]


@pytest.mark.parametrize("role", ["installer", "inspector"])
def test_only_the_desk_measures_and_tries(job, shop, role):
    by = SignedIn(make.person(shop, "Ines", role))
    for act in (
        lambda: measure_paint(job=job, panel="hood", readings_um10=[1150] * 3, by=by, now=NOW),
        lambda: try_devices(job=job, when="before", found={"cameras": "works"}, by=by, now=NOW),
    ):
        with pytest.raises(Refused) as refused:
            act()
        assert codes(refused) == ["not_allowed"]


# ------------------------------------------------------------------ lamps and sensors


@pytest.fixture
def attempt(job, dora):
    return lambda when, notes=None, **found: try_devices(
        job=job, when=when, found=found, notes=notes, by=SignedIn(dora), now=NOW
    )


def test_tried_before_and_after_side_by_side(attempt, job):
    attempt("before", cameras="works", washers="faulty", radar="none", notes={"washers": "left one dry"})
    assert [one.code for one in tried(job) if one.waits] == ["washers", "cameras"]
    attempt("after", cameras="faulty", notes={"cameras": "dark picture"})
    rows = {one.code: one for one in tried(job)}
    assert rows["cameras"].got_worse
    assert not rows["washers"].got_worse
    attempt("after", cameras="works")
    assert not next(one for one in tried(job) if one.code == "cameras").got_worse
    assert models.DeviceTry.objects.filter(device="cameras", when="after").count() == 2


@pytest.mark.parametrize(
    ("when", "found", "notes", "says"),
    [
        ("before", {}, {}, "at least one"),
        ("during", {"cameras": "works"}, {}, "came or goes"),
        ("before", {"cameras": "fine"}, {}, "whether it works"),
        ("before", {"wings": "works"}, {}, "Nothing of that kind"),
        ("before", {"cameras": "faulty"}, {}, "Cameras: say what is wrong"),
        ("before", {"cameras": "faulty"}, {"cameras": "x" * 201}, "too long"),
    ],
)
def test_what_cannot_be_tried_is_refused(attempt, when, found, notes, says):
    with pytest.raises(Refused, match=says):
        attempt(when, notes, **found)
    assert not models.DeviceTry.objects.exists()


# ------------------------------------------------------------------ what is signed, and the paper


def test_what_was_measured_and_tried_is_signed(job, dora, measure, attempt):
    bare = intake_text(job)
    measure("hood", 1180, 1210, 1190)
    attempt("before", cameras="works", washers="faulty", notes={"washers": "left one dry"})
    text = intake_text(job)
    assert text.startswith(bare)
    assert "Paint measured, mean of each spot: Hood 119.3 µm." in text
    assert "Tried on arrival, working: cameras; faulty: washers and wipers (left one dry)." in text
    with pytest.raises(Refused) as refused:
        agree_intake(job=job, strokes=HAND, text_seen=bare, by=SignedIn(dora), now=NOW)
    assert codes(refused) == ["screen_changed"]


def test_both_hands_are_on_the_sheet(job, dora):
    before = sheet_context(job, now=NOW)
    assert (before["customer_hand"], before["our_hand"], before["signed"]) == ("", "", None)
    consent = agree_intake(
        job=job, strokes=HAND, counter_strokes=HAND, said=["registration"], by=SignedIn(dora), now=NOW
    )
    told = sheet_context(job, now=NOW)
    assert "<svg" in told["customer_hand"]
    assert "<svg" in told["our_hand"]
    assert dict(told["said"]) == {said.signed: code == "registration" for code, said in SAID.items()}
    assert not told["is_old"]
    found = belongings_of(job.customer).values
    assert {consent.strokes_id, consent.counter_strokes_id} <= found


def test_the_sheet_says_all_of_it(job, dora, measure, attempt):
    for panel in ("hood", "trunk-lid", "fender-left"):
        measure(panel, 1150, 1150, 1150)
    measure("roof", 2600, 2600, 2600)
    attempt("before", cameras="works")
    note_paint(job=job, panel="roof", kind="repainted", dried="air", by=SignedIn(dora), now=NOW)
    html = intake_sheet(job, now=NOW).html
    for words in (
        "Ana Berg",
        VIN,
        "260 µm",
        "it may have been repainted",
        "repainted, air-dried",
        "Held until",
        "Cameras",
    ):
        assert words in html, words
    accept_paint(job=job, panel="roof", strokes=HAND, by=SignedIn(dora), now=NOW)
    html = intake_sheet(job, now=NOW).html
    assert "Held until" not in html
    assert "Roof: paint accepted" in html


@pytest.mark.parametrize(("country", "size"), [("US", "letter"), ("ES", "a4")])
def test_the_sheet_is_the_countrys(job, country, size):
    job.workshop.country = country
    assert f'<body class="{size}">' in intake_sheet(job, now=NOW).html


def test_the_sheet_is_printed_by_the_workshops_clock(job):
    """Nine in the morning by world time is ten in Madrid."""
    assert "printed 2 March 2026, 10:" in intake_sheet(job, now=NOW).html


# ------------------------------------------------------------------ pages


@pytest.fixture
def desk(dora):
    client = Client()
    client.force_login(dora.user)
    return client


def test_a_spot_is_typed_and_struck_on_the_page(desk, job):
    url = f"/cars/{job.pk}/intake/gauge/"
    sent = {"spot-key": str(uuid4()), "spot-panel": "hood", "spot-readings": "118 121,5  119"}
    assert desk.post(url, sent).status_code == 302
    assert desk.post(url, sent).status_code == 302
    spot = models.PaintSpot.objects.get()
    assert spot.readings_um10 == [1180, 1215, 1190]
    wrong = sent | {"spot-key": str(uuid4()), "spot-readings": "118 abc 120"}
    assert desk.post(url, wrong).status_code == 422
    few = sent | {"spot-key": str(uuid4()), "spot-readings": "118 119"}
    page = desk.post(url, few)
    assert page.status_code == 409
    assert "too few" in page.content.decode()
    assert 'value="118 119"' in page.content.decode()
    struck = {f"s{spot.pk}-key": str(uuid4()), "act": "strike", "spot": spot.pk}
    assert desk.post(url, struck).status_code == 302
    assert not models.PaintSpot.objects.standing(job).exists()
    assert desk.post(url, {"act": "strike", "spot": "x"}).status_code == 400
    assert desk.post(url, struck | {f"s{spot.pk}-key": str(uuid4())}).status_code == 404


def test_only_metal_panels_are_offered(desk, job):
    page = desk.get(f"/cars/{job.pk}/intake/gauge/").content.decode()
    assert 'value="hood"' in page
    assert 'value="bumper-front"' not in page


def test_devices_are_tried_on_the_page(desk, job):
    url = f"/cars/{job.pk}/intake/tried/before/"
    sent = {"key": str(uuid4()), "cameras": "works", "washers": "faulty", "washers_note": "left one dry"}
    assert desk.post(url, sent).status_code == 302
    assert desk.post(url, sent).status_code == 302
    assert models.DeviceTry.objects.count() == 2
    refused = desk.post(url, {"key": str(uuid4()), "radar": "faulty"})
    assert refused.status_code == 409
    assert desk.post(url, {"key": str(uuid4())}).status_code == 409


def test_a_panel_that_stands_out_starts_its_note(desk, job, measure):
    for panel in ("hood", "trunk-lid", "fender-left"):
        measure(panel, 1150, 1150, 1150)
    measure("roof", 2600, 2600, 2600)
    page = desk.get(f"/cars/{job.pk}/intake/").content.decode()
    assert "?suspect=roof#paint" in page
    page = desk.get(f"/cars/{job.pk}/intake/?suspect=roof").content.decode()
    assert '<option value="roof" selected>' in page
    assert '<option value="suspect" selected>' in page
