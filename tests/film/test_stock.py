"""What may come onto the shelf, and what is asked back first."""

from datetime import date

import pytest

from shop.film import actions, questions
from shop.film.models import Lot, Material, Roll
from shop.people.identity import Claimed, SignedIn
from shop.reasons import Refused, Weight
from shop.record.models import Entry
from tests import make

pytestmark = pytest.mark.django_db
NOW = make.NOW
ROLL = {
    "name": "Harbour teal",
    "colour": "deep teal",
    "finish": "gloss",
    "lot": "L-2209",
    "roll": "R-1",
    "width_mm": 1520,
    "length_mm": 15_000,
    "received_on": date(2026, 2, 20),
    "expires_on": date(2028, 2, 20),
}
LOT = {"kind": "primer", "name": "Corner primer", "lot": "P-7", "received_on": date(2026, 2, 20)}


@pytest.fixture
def shop():
    return make.workshop()


@pytest.fixture
def by_dora(shop):
    return SignedIn(make.person(shop, "Dora", "desk"))


def receive(shop, by, **changed):
    return actions.receive_roll(workshop=shop, by=by, now=NOW, **ROLL | changed)


def codes(refused):
    return [reason.code for reason in refused.value.reasons]


def test_roll_comes_with_film_and_lot(shop, by_dora):
    roll = receive(shop, by_dora)
    assert (roll.lot.code, roll.lot.material.name, roll.length_mm) == ("L-2209", "Harbour teal", 15_000)
    entry = Entry.objects.get()
    assert entry.verb == "receive_roll" and entry.person == by_dora.person and "Harbour teal" in entry.body


def test_second_roll_joins_film_and_lot(shop, by_dora):
    first = receive(shop, by_dora)
    second = receive(shop, by_dora, material=first.lot.material, roll="R-2")
    assert second.lot == first.lot and Material.objects.count() == 1


@pytest.mark.parametrize(
    ("changed", "code", "where"),
    [
        ({"lot": " "}, "value_wrong", "#lot"),
        ({"roll": "x" * 41}, "value_wrong", "#roll"),
        ({"width_mm": 0}, "value_wrong", "#width"),
        ({"length_mm": -1}, "value_wrong", "#width"),
        ({"expires_on": date(2026, 2, 19)}, "expires_before_received", "#expires_on"),
        ({"received_on": date(2026, 3, 3)}, "value_wrong", "#received_on"),
        ({"opened_on": date(2026, 2, 19)}, "value_wrong", "#opened_on"),
        ({"name": ""}, "value_wrong", "#name"),
        ({"width_mm": 15_000, "length_mm": 1_520}, "roll_size_odd", "#width"),
        ({"width_mm": 2}, "roll_size_odd", "#width"),
        ({"length_mm": 15_000_000}, "roll_size_odd", "#length"),
    ],
)
def test_one_fault_is_one_sentence_and_no_row(shop, by_dora, changed, code, where):
    with pytest.raises(Refused) as refused:
        receive(shop, by_dora, **changed)
    assert [(reason.code, reason.where) for reason in refused.value.reasons] == [(code, where)]
    assert not Roll.objects.exists() and not Material.objects.exists() and not Entry.objects.exists()


def test_an_odd_size_read_twice_is_taken(shop, by_dora):
    assert receive(shop, by_dora, length_mm=250, width_mm=120, confirmed=True).length_mm == 250


def test_confirming_does_not_excuse_anything_else(shop, by_dora):
    with pytest.raises(Refused) as refused:
        receive(shop, by_dora, width_mm=0, confirmed=True)
    assert codes(refused) == ["value_wrong"]


def test_day_of_receipt_is_the_workshops_day(shop, by_dora):
    shop.zone = "Pacific/Auckland"
    late = NOW.replace(hour=20)
    row = actions.receive_roll(
        workshop=shop, by=by_dora, now=late, **ROLL | {"received_on": date(2026, 3, 3)}
    )
    assert row.received_on == date(2026, 3, 3)


def test_same_roll_or_film_twice_is_refused(shop, by_dora):
    film = receive(shop, by_dora).lot.material
    with pytest.raises(Refused) as refused:
        receive(shop, by_dora, material=film, roll="r-1")
    assert codes(refused) == ["already_on_shelf"]
    with pytest.raises(Refused) as refused:
        receive(shop, by_dora, name="harbour TEAL", lot="L-2")
    assert codes(refused) == ["name_taken"]


def test_lots_of_primer_slip_and_tack(shop, by_dora):
    for kind in ("primer", "slip", "tack"):
        row = actions.receive_lot(workshop=shop, by=by_dora, now=NOW, **LOT | {"kind": kind})
        assert row.material.kind == kind
    again = actions.receive_lot(
        workshop=shop, by=by_dora, now=NOW, **LOT | {"lot": "P-8", "name": "corner PRIMER"}
    )
    assert again.material == Lot.objects.get(code="P-7", material__kind="primer").material


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"kind": "film"}, "value_wrong"),
        ({"name": ""}, "value_wrong"),
        ({"lot": ""}, "value_wrong"),
        ({"expires_on": date(2026, 1, 1)}, "expires_before_received"),
    ],
)
def test_a_wrong_lot_is_refused(shop, by_dora, changed, code):
    with pytest.raises(Refused) as refused:
        actions.receive_lot(workshop=shop, by=by_dora, now=NOW, **LOT | changed)
    assert codes(refused) == [code] and not Lot.objects.exists()


def test_quarantine_is_entered_with_its_reason_and_ended_with_one(shop, by_dora):
    lot = receive(shop, by_dora).lot
    held = actions.quarantine_lot(lot=lot, reason="silvering on two cars", by=by_dora, now=NOW)
    assert held.quarantined_at == NOW and "silvering" in held.quarantine_reason
    with pytest.raises(Refused) as refused:
        actions.quarantine_lot(lot=lot, reason="again", by=by_dora, now=NOW)
    assert codes(refused) == ["lot_quarantined"]
    freed = actions.free_lot(lot=lot, reason="supplier tested it", by=by_dora, now=NOW)
    assert freed.quarantined_at is None
    assert [entry.verb for entry in Entry.objects.order_by("number")][1:] == ["quarantine_lot", "free_lot"]
    assert "supplier tested it" in Entry.objects.get(verb="free_lot").body
    with pytest.raises(Refused):
        actions.quarantine_lot(lot=lot, reason=" ", by=by_dora, now=NOW)


def test_a_roll_is_opened_once_and_not_before_it_came(shop, by_dora):
    roll = receive(shop, by_dora)
    for day in (date(2026, 2, 19), date(2026, 3, 3)):
        with pytest.raises(Refused):
            actions.open_roll(roll=roll, opened_on=day, by=by_dora, now=NOW)
    actions.open_roll(roll=roll, opened_on=date(2026, 3, 2), by=by_dora, now=NOW)
    with pytest.raises(Refused):
        actions.open_roll(roll=roll, opened_on=date(2026, 3, 2), by=by_dora, now=NOW)


def test_who_may(shop, by_dora):
    ines = make.person(shop, "Ines", "installer", "inspector")
    otto = make.person(make.workshop(name="Another"), "Otto", "owner")
    for by, code in (
        (SignedIn(ines), "not_allowed"),
        (Claimed(by_dora.person), "not_allowed"),
        (SignedIn(otto), "other_workshop"),
    ):
        with pytest.raises(Refused) as refused:
            receive(shop, by)
        assert codes(refused) == [code]
    film = receive(shop, by_dora).lot.material
    with pytest.raises(Refused) as refused:
        actions.receive_roll(workshop=otto.workshop, by=SignedIn(otto), now=NOW, material=film, **ROLL)
    assert codes(refused) == ["other_workshop"]


@pytest.mark.parametrize(
    ("um10", "asked"), [(1650, False), (500, False), (499, True), (4000, False), (4001, True), (65, True)]
)
def test_thickness_of_a_sheet_is_questioned_outside_its_bounds(um10, asked):
    found = questions.thickness({"thickness": {"typical_um10": um10}})
    assert [reason.weight for reason in found] == [Weight.NOTE] * asked


def test_a_film_sheet_says_width_finish_and_direction(shop, by_dora):
    sheet = make.document(shop, "film", "films/defaults.toml")
    sheet.body |= {
        "film": {"widths_mm": [1520, 1220], "finish": "brushed", "directional": True, "source": "paper"}
    }
    sheet.save()
    roll = receive(shop, by_dora, sheet=sheet, finish="")
    assert (roll.lot.material.finish, roll.lot.material.directional) == ("brushed", True)
    with pytest.raises(Refused, match="1520 mm or 1220 mm wide") as refused:
        receive(shop, by_dora, material=roll.lot.material, roll="R-2", width_mm=1370)
    assert codes(refused) == ["roll_size_odd"]
    assert receive(shop, by_dora, material=roll.lot.material, roll="R-2", width_mm=1370, confirmed=True)
