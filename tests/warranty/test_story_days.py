"""One car through refit, sale and removal, by the verbs: what covers it on each day around each boundary."""

from datetime import date

import pytest

from shop.warranty import actions
from shop.warranty.cover import cover_of
from tests.make_covered import FILM_LAST, FIRST_DAY, TOUCH_UP_LAST, WORK_LAST, Covered, days, noon

pytestmark = pytest.mark.django_db
REFIT, SOLD, OFF = date(2026, 9, 1), date(2026, 12, 15), date(2027, 6, 30)
LATER = date(2032, 1, 1)
ALL, BOTH, FILM, NONE = (
    {"touch_up", "workmanship", "material"},
    {"workmanship", "material"},
    {"material"},
    set(),
)


@pytest.fixture
def car():
    """Hood and fender under cover; the hood is filmed again, the car sold and told of, the hood's film taken off."""
    covered = Covered(transfer={"rule": "once", "notice_days": 30})
    covered.again(REFIT)
    actions.transfer_cover(
        vehicle=covered.car, name="Cem Doğan", sold_on=SOLD, told_on=SOLD + days(30), by=covered.desk,
        now=noon(SOLD + days(30)),
    )  # fmt: skip
    actions.take_film_off(vehicle=covered.car, panel="hood", on=OFF, by=covered.desk, now=noon(OFF))
    return covered


# Day, kinds on the hood, kinds on the fender.
DAYS = [
    (FIRST_DAY - days(1), NONE, NONE), (FIRST_DAY, ALL, ALL),
    (TOUCH_UP_LAST, ALL, ALL), (TOUCH_UP_LAST + days(1), BOTH, BOTH),
    (REFIT - days(1), BOTH, BOTH), (REFIT, BOTH, BOTH), (REFIT + days(1), BOTH, BOTH),
    (SOLD - days(1), BOTH, BOTH), (SOLD, BOTH, BOTH), (SOLD + days(1), BOTH, BOTH), (SOLD + days(31), BOTH, BOTH),
    (WORK_LAST, BOTH, BOTH), (WORK_LAST + days(1), FILM, FILM),
    (OFF - days(1), FILM, FILM), (OFF, FILM, FILM), (OFF + days(1), NONE, FILM),
    (FILM_LAST, NONE, FILM), (FILM_LAST + days(1), NONE, NONE),
]  # fmt: skip


@pytest.mark.parametrize(("on", "hood", "fender"), DAYS, ids=[str(row[0]) for row in DAYS])
def test_each_day_around_each_boundary(car, on, hood, fender):
    cover = cover_of(car.car, today=LATER)
    found = {"hood": set(), "fender-left": set()}
    for stretch in cover.on(on):
        assert stretch.kind not in found[stretch.panel], "twice covered by the same promise"
        found[stretch.panel].add(stretch.kind)
    assert found == {"hood": hood, "fender-left": fender}


def test_the_film_under_the_promise_changes_with_the_refit(car):
    cover = cover_of(car.car, today=LATER)

    def film(on):
        (stretch,) = [s for s in cover.on(on) if s.panel == "hood" and s.kind == "material"]
        return stretch.film

    old, new = film(REFIT - days(1)), film(REFIT)
    assert old != new and film(OFF) == new


@pytest.mark.parametrize(("late", "ends"), [(30, False), (31, True)], ids=["in-time", "a-day-late"])
def test_a_second_thought_on_the_last_day_of_the_notice(late, ends):
    covered = Covered(transfer={"rule": "always", "notice_days": 30})
    actions.transfer_cover(
        vehicle=covered.car, name="Cem Doğan", sold_on=SOLD, told_on=SOLD + days(late), accept_end=True,
        by=covered.desk, now=noon(SOLD + days(late)),
    )  # fmt: skip
    cover = cover_of(covered.car, today=LATER)
    assert {s.kind for s in cover.on(SOLD)} == BOTH
    assert (cover.on(SOLD + days(1)) == []) == ends
