"""Where the page goes on to, and what one photo shows together."""

import pytest

from shop.work import states
from shop.work.floor import Floor
from shop.work.kinds import Meaning, Stage
from shop.work.onward import Onward, next_to_lay, onward
from shop.work.photo_sides import sides
from tests.kept import kept
from tests.work.day import Day

pytestmark = pytest.mark.django_db


@pytest.fixture
def day():
    return kept(two_mirrors)


def two_mirrors():
    day = Day()
    day.set_out("mirror-left", "mirror-right")
    return day


def on_from(day, stage, place="mirror-left.1"):
    facts = states.facts_of(Floor(day.job))
    return onward(list(facts.values()), facts[place], Stage(stage), states.meaning_of(stage))


def test_it_stays_while_something_lacks(day):
    assert on_from(day, "wash") is None


def test_a_piece_alone_goes_from_stage_to_stage_and_to_its_signature(day):
    left = "mirror-left.1"
    for stage, then in (("wash", "decontaminate"), ("decontaminate", "degrease")):
        day.finish(stage, only=left)
        assert on_from(day, stage) == Onward(place=left, stage=then)
    day.finish("degrease", "primer", only=left)
    assert on_from(day, "degrease") == Onward(meaning=Meaning.READY, places=(left,))
    day.sign("ready", panels=[left])
    assert on_from(day, "degrease") is None


def test_a_line_of_the_whole_car_takes_no_other_piece_in_hand(day):
    day.finish("wash", only="mirror-left.1")
    assert on_from(day, "wash") == Onward(place="mirror-left.1", stage="decontaminate")


def test_a_piece_in_hand_is_finished_at_this_stage_first(day):
    day.finish("wash", only="mirror-left.1")
    day.answer("decontaminate.clay", "mirror-right.1")
    day.finish("decontaminate", only="mirror-left.1")
    assert on_from(day, "decontaminate") == Onward(place="mirror-right.1", stage="decontaminate")


def test_both_in_hand_are_signed_together(day):
    day.finish("wash", "decontaminate", "degrease", "primer")
    assert on_from(day, "degrease") == Onward(
        meaning=Meaning.READY, places=("mirror-left.1", "mirror-right.1")
    )


def test_film_goes_down_on_one_piece_after_the_other(day):
    day.finish("wash", "decontaminate", "degrease", "primer")
    day.sign("ready")
    day.finish("tack", card="before", only="mirror-right.1", but="tack.flooding")
    facts = lambda: states.facts_of(Floor(day.job))  # noqa: E731
    assert next_to_lay(list(facts().values()), facts()["mirror-left.1"]) is None
    day.finish("tack", card="before", only="mirror-left.1")
    found = next_to_lay(list(facts().values()), facts()["mirror-left.1"])
    assert found.place == "mirror-right.1"
    day.finish("tack", card="before", only="mirror-right.1")
    assert next_to_lay(list(facts().values()), facts()["mirror-left.1"]) is None


def test_the_next_day_goes_round_every_laid_piece(day):
    day.finish("wash", "decontaminate", "degrease", "primer")
    day.sign("ready")
    for place in ("mirror-left.1", "mirror-right.1"):
        day.lay(place)
    day.tick_clock(hours=26)
    day.finish("cure", only="mirror-left.1", by=day.marek)
    assert on_from(day, "cure") == Onward(place="mirror-right.1", stage="cure")


def test_the_hood_is_shown_in_four_photos(day):
    day.set_out("hood")
    ring = Floor(day.job).piece("hood.1").spec.edges
    found = sides(ring)
    assert found == [
        ("front-right", "front", "front-left"), ("left", "cowl-left"), ("cowl", "cowl-right"), ("right",)
    ]  # fmt: skip
    assert sorted(code for side in found for code in side) == sorted(edge.code for edge in ring)


def test_corners_that_stand_alone_get_a_photo_each(day):
    ring = [edge for edge in Floor(day.job).pieces[0].spec.edges if edge.kind == "corner"]
    assert sides(ring) == [(edge.code,) for edge in ring]
