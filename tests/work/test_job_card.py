"""The job card: every line the bay asks, once and for each panel, with what stops work and where to look it up."""

from zoneinfo import ZoneInfo

import pytest

from shop.intake.actions import note_paint
from shop.people.identity import SignedIn
from shop.work.floor import Floor
from shop.work.job_card import card, card_context
from tests.work.day import Day

pytestmark = pytest.mark.django_db
PANELS = ("hood", "fender-left", "fender-right", "bumper-front", "mirror-left")


@pytest.fixture
def day():
    day = Day()
    day.set_out(*PANELS)
    return day


def context(day):
    return card_context(Floor(day.job), now=day.now)


def test_every_line_of_the_bay_is_on_it_and_no_other(day):
    floor = Floor(day.job)
    for stage, on_card in zip(floor.pieces[0].stages, context(day)["stages"], strict=True):
        lines = [line for piece in floor.pieces for line in piece.stages[stage].lines]
        asked = {line.text["en"] for line in lines}
        rows = on_card["car"] + [row for table in on_card["tables"] for row in table["rows"]]
        assert {row.text for row in rows} == asked
        boxes = sum(len(cell.boxes) for row in rows for cell in row.cells if cell)
        whole_car = {line.key for line in lines if line.scope == "car"}
        by_piece = sum(len(line.places()) for line in lines if line.scope != "car")
        assert boxes == len(whole_car) + by_piece


def test_it_says_when_it_was_printed_by_the_workshops_clock(day):
    there = day.now.astimezone(ZoneInfo(day.shop.zone))
    assert there.utcoffset()
    assert f"printed {there.day} {there:%B %Y, %H:%M}" in card(Floor(day.job), now=day.now).html


def test_what_is_answered_is_ticked(day):
    def state():
        rows = context(day)["stages"][0]["car"]
        return [cell.boxes[0].state for row in rows for cell in row.cells]

    assert set(state()) == {""}
    day.finish("wash")
    assert set(state()) == {"done"}


def test_holds_and_cautions_stand_on_it(day):
    note_paint(job=day.job, panel="hood", kind="fresh", by=SignedIn(day.petra), now=day.now)
    told = context(day)
    assert told["held"] == ["Hood: fresh paint, not accepted by the customer. No film goes on."]
    rows = [row for stage in told["stages"] for table in stage["tables"] for row in table["rows"]]
    assert any(row.hold for row in rows)
    assert any(row.caution for row in rows)
    assert [stage["signing"] for stage in told["stages"] if stage["signing"]] == [
        "Ready for film",
        "Laid and sealed",
        "Released",
    ]


def test_it_leads_back_to_the_screen_and_names_nobody_outside(day):
    paper = card(Floor(day.job), now=day.now)
    assert f"/bay/{day.job.pk}/" in context(day)["address"]
    assert paper.served["static:qr.svg"][1].startswith(b"<?xml")
    assert day.job.customer.name.value not in paper.html
    assert day.job.vehicle.vin not in paper.html


def test_a_car_with_nothing_set_out_says_so():
    assert "Nothing is set out yet" in card(Floor(Day().job), now=Day().now).html


@pytest.mark.parametrize(("country", "size"), [("US", "letter"), ("ES", "a4")])
def test_the_sheet_is_the_countrys(day, country, size):
    day.shop.country = country
    day.shop.save()
    floor = Floor(type(day.job).objects.for_page().get(pk=day.job.pk))
    assert f'<body class="{size}">' in card(floor, now=day.now).html
