"""Film leaves the roll: what is left by hand, what an act refuses, what the book says."""

import json
from datetime import date

import pytest

from shop.film import actions
from shop.film.models import Cut, Offcut, Roll
from shop.people.identity import Claimed, SignedIn
from shop.reasons import Refused
from shop.record.models import Entry
from shop.record.telling import Names
from shop.record.words import tell
from tests import make
from tests.kept import kept
from tests.work.day import Day

pytestmark = pytest.mark.django_db


@pytest.fixture
def day():
    day = kept(Day)
    day.set_out("hood")
    day.desk = SignedIn(day.petra)
    return day


def cut(day, **changed):
    given = {"job": day.job, "panel": "hood.1", "roll": day.roll, "length_mm": 1400, "width_mm": 1500}
    return actions.cut_film(**given | changed, by=day.desk, now=day.now)


def left(roll) -> int:
    return Roll.objects.with_left().get(pk=roll.pk).left_mm


def codes(act, *args, **given) -> set[str]:
    with pytest.raises(Refused) as refused:
        act(*args, **given)
    return {reason.code for reason in refused.value.reasons}


def told() -> str:
    entry = Entry.objects.latest("pk")
    return tell(entry.verb, entry.body, Names()).sentence


def test_what_is_left_after_a_cut_a_spoiled_piece_and_an_offcut(day):
    cut(day)
    assert told() == "1400 mm were cut off roll R-1 of lot L-2209 for Hood."
    actions.scrap(roll=day.roll, length_mm=300, reason="crease at the core", by=day.desk, now=day.now)
    assert told() == "300 mm of roll R-1, lot L-2209, went to scrap: crease at the core."
    kept = actions.keep_offcut(
        roll=day.roll, width_mm=700, length_mm=900, shelf="B 2", off_the_roll=True, by=day.desk, now=day.now
    )
    assert told() == f"Offcut {kept.pk} of roll R-1, 700 × 900 mm, lies on shelf B 2."
    assert left(day.roll) == 15_000 - 1400 - 300 - 900


def test_a_leftover_of_a_cut_is_kept_without_the_roll_getting_shorter(day):
    actions.keep_offcut(roll=day.roll, width_mm=200, length_mm=900, shelf="B 2", by=day.desk, now=day.now)
    assert left(day.roll) == 15_000 and list(Offcut.objects.on_the_shelf(day.shop))


def test_an_offcut_of_the_same_lot_serves_a_piece_and_is_gone(day):
    kept = actions.keep_offcut(
        roll=day.roll, width_mm=1500, length_mm=1500, shelf="B 2", by=day.desk, now=day.now
    )
    cut(day, roll=None, offcut=kept)
    assert told() == f"Hood takes offcut {kept.pk} of lot L-2209, 1500 mm long."
    assert not Offcut.objects.on_the_shelf(day.shop) and left(day.roll) == 15_000
    assert codes(cut, day, roll=None, offcut=kept) == {"superseded"}


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ({"length_mm": 0}, "value_wrong"),
        ({"width_mm": 1521}, "value_wrong"),
        ({"length_mm": 16_000}, "value_wrong"),
        ({"panel": "roof.1"}, "superseded"),
        ({"panel": "hood.²"}, "superseded"),
        ({"roll": None}, "field_missing"),
    ],
)
def test_a_cut_that_cannot_be_is_refused(day, changed, expected):
    if changed.get("panel") == "hood.²":
        changed = {"panel": "roof.²"}
    assert codes(cut, day, **changed) == {expected}
    assert not Cut.objects.exists() and not Entry.objects.filter(verb="cut_film").exists()


def test_another_lot_a_held_one_and_a_roll_past_its_day_stop(day):
    other = make.roll(day.shop, lot="L-9", code="R-9")
    assert codes(cut, day, roll=other) == {"lot_wrong"}
    Roll.objects.filter(pk=day.roll.pk).update(expires_on=date(2026, 1, 1))
    assert codes(cut, day) == {"roll_expired"}
    actions.quarantine_lot(lot=day.roll.lot, reason="specks", by=day.desk, now=day.now)
    assert codes(cut, day) == {"roll_expired", "lot_quarantined"}


def test_more_than_the_book_has_is_measured_again_first(day):
    cut(day, length_mm=14_000)
    assert codes(cut, day, length_mm=1400) == {"roll_short"}
    cut(day, length_mm=1400, confirmed=True)
    assert left(day.roll) == -400
    assert tell("cut_film", Entry.objects.latest("pk").body, Names()).note.startswith("More than")


def test_a_name_on_a_tablet_is_not_enough_and_another_shop_sees_nothing(day):
    day.desk = Claimed(day.ines)
    assert codes(cut, day) == {"not_allowed"}
    day.desk = SignedIn(day.stranger())
    assert codes(cut, day) == {"other_workshop"}
    day.desk = SignedIn(day.petra)
    far = make.roll(make.workshop(name="Far"), lot="L-1")
    assert codes(cut, day, roll=far) == {"other_workshop"}


def test_scrap_and_offcuts_ask_why_and_where(day):
    act = {"by": day.desk, "now": day.now}
    assert codes(actions.scrap, roll=day.roll, length_mm=10, reason=" ", **act) == {"value_wrong"}
    assert codes(actions.scrap, reason="torn", **act) == {"field_missing"}
    sizes = {"roll": day.roll, "width_mm": 10, "length_mm": 10}
    assert codes(actions.keep_offcut, **sizes, shelf=" ", **act) == {"value_wrong"}
    assert codes(actions.keep_offcut, **sizes | {"length_mm": 0}, shelf="B", **act) == {"value_wrong"}
    kept = actions.keep_offcut(**sizes, shelf="B", **act)
    actions.scrap(offcut=kept, reason="dust on the glue", **act)
    assert codes(actions.scrap, offcut=kept, reason="again", **act) == {"superseded"}


def test_film_kept_back_for_cars_under_cover(day):
    lot, act = day.roll.lot, {"by": day.desk, "now": day.now}
    actions.reserve_film(lot=lot, length_mm=3000, **act)
    lot.refresh_from_db()
    assert lot.reserve_mm == 3000 and told() == "Lot L-2209: film is kept back for cars under cover."
    assert codes(actions.reserve_film, lot=lot, length_mm=-1, **act) == {"value_wrong"}
    slip = day.shop.materials.get(kind="slip").lots.get()
    assert codes(actions.reserve_film, lot=slip, length_mm=5, **act) == {"value_wrong"}
    by = SignedIn(day.ines)
    assert codes(actions.reserve_film, lot=lot, length_mm=5, by=by, now=day.now) == {"not_allowed"}


def test_what_is_known_of_a_film_is_put_right(day):
    film, act = day.roll.lot.material, {"by": day.desk, "now": day.now}
    actions.change_film(material=film, directional=True, finish="satin", **act)
    film.refresh_from_db()
    assert (film.directional, film.finish, film.colour) == (True, "satin", "deep teal")
    body = json.loads(Entry.objects.latest("pk").body)
    assert body["before"]["directional"] is False and body["film"]["directional"] is True
    assert codes(actions.change_film, material=film, sheet=day.job.plan, **act) == {"value_wrong"}
    slip = day.shop.materials.get(kind="slip")
    assert codes(actions.change_film, material=slip, colour="x", **act) == {"value_wrong"}
