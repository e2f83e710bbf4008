"""Film laid again under a warranty: how the first paper goes on, and what a paper of its own may promise."""

from datetime import date

import pytest

from shop import models
from shop.people.identity import Proven
from shop.warranty import actions
from shop.warranty.cover import cover_of
from shop.warranty.coverage import days_last_day, last_day
from shop.warranty.promise import cover_lines
from shop.warranty.timeline import covered_on
from shop.work.floor import Floor
from tests.make_covered import FILM_LAST, FIRST_DAY, WORK_LAST, Covered, days, noon
from tests.make_finished import finished_job

pytestmark = pytest.mark.django_db
BACK = date(2026, 11, 2)


def kinds(covered, day, film=None):
    found = covered_on(day, cover_of(covered.car, today=day).at("hood", 1))
    assert film is None or {stretch.film for stretch in found} <= {film.pk}
    return {stretch.kind for stretch in found}


@pytest.fixture
def covered():
    return Covered(panels=(("hood", 1),))


def promised(film):
    """What a paper for the repair's own job would promise, by kind."""
    floor = Floor(models.Job.objects.for_page().get(pk=film.job_id))
    lines = cover_lines(floor, actions.terms_in_force(floor.job.workshop).body, BACK, "en")
    return {line["kind"]: line for line in lines}


def test_the_first_paper_goes_on_with_what_was_left(covered):
    old = covered.film()
    new = covered.again(BACK)
    assert kinds(covered, BACK - days(1), old) == {"material", "workmanship"}
    assert kinds(covered, BACK, new) == {"material", "workmanship"}
    assert kinds(covered, WORK_LAST, new) == {"material", "workmanship"}
    assert kinds(covered, FILM_LAST, new) == {"material"}
    assert kinds(covered, FILM_LAST + days(1)) == set()


def test_while_the_repair_is_not_handed_over_the_old_film_stays_in_the_story(covered):
    old, new = covered.film(), covered.again(BACK)
    models.HandOver.objects.filter(job=new.job).delete()
    assert kinds(covered, BACK, old) == {"material", "workmanship"}


def test_a_paper_of_its_own_promises_no_more_than_was_left(covered):
    film = covered.again(BACK)
    lines = promised(film)
    assert set(lines) == {"material", "workmanship"}
    for kind, last in (("material", FILM_LAST), ("workmanship", WORK_LAST)):
        line = lines[kind]
        assert (line["first_day"], line["last_day"]) == (BACK.isoformat(), last.isoformat())
        assert line["months"] is None
        assert days_last_day(BACK, line["days"], line["counting"]) == last
        assert line["length"] == f"what is left of it, {line['days']} days"


def test_where_the_first_day_counts_the_days_left_count_it_too():
    covered = Covered(panels=(("hood", 1),), counting="first_day_counted")
    line = promised(covered.again(BACK))["material"]
    assert line["counting"] == "first_day_counted"
    assert days_last_day(BACK, line["days"], "first_day_counted").isoformat() == line["last_day"]
    assert line["last_day"] == last_day(FIRST_DAY, 60, "first_day_counted").isoformat()


def test_afresh_is_the_whole_term_once_more():
    covered = Covered(panels=(("hood", 1),), again={"rule": "afresh"})
    film = covered.again(BACK)
    lines = promised(film)
    assert set(lines) == {"material", "workmanship", "touch_up"}
    assert (lines["material"]["months"], lines["material"]["last_day"]) == (60, "2031-11-02")
    assert (lines["touch_up"]["days"], lines["touch_up"]["last_day"]) == (30, "2026-12-02")
    assert lines["workmanship"]["length"] == "12 months"
    assert kinds(covered, date(2031, 11, 2), film) == {"material"}
    assert kinds(covered, date(2031, 11, 3)) == set()


def test_afresh_goes_by_the_terms_the_first_paper_was_issued_under():
    covered = Covered(panels=(("hood", 1),))
    covered.set_terms(cover={"workmanship": {"months": 36, "title": {"en": "Work"}, "text": {"en": "Work."}}})
    assert promised(covered.again(BACK))["workmanship"]["last_day"] == WORK_LAST.isoformat()


def test_filmed_again_twice_has_what_was_left_the_first_time(covered):
    film = covered.again(BACK)
    second = covered.again(BACK + days(1), number="28-0002")
    assert second.replaces == film
    assert promised(second)["material"]["last_day"] == FILM_LAST.isoformat()


def test_film_that_never_had_a_paper_is_promised_a_whole_term():
    done = finished_job(panels=(("hood", 1),), with_photos=False)
    bare = Covered.__new__(Covered)
    bare.done, bare.shop, bare.job, bare.car, bare.dora = (
        done,
        done.shop,
        done.job,
        done.job.vehicle,
        done.dora,
    )
    assert promised(bare.again(BACK))["material"]["months"] == 60


def test_a_withdrawn_paper_leaves_nothing_and_binds_nothing(covered):
    actions.withdraw(
        certificate=covered.certificate,
        why="issued for the wrong car",
        by=Proven(covered.petra, "pin"),
        now=noon(date(2026, 6, 1)),
    )
    film = covered.again(BACK)
    assert kinds(covered, BACK) == set()
    assert promised(film)["material"]["last_day"] == "2031-11-02"


def test_taken_off_again_ends_it(covered):
    covered.again(BACK)
    actions.take_film_off(
        vehicle=covered.car, panel="hood", on=BACK + days(9), by=covered.desk, now=noon(BACK + days(9))
    )
    assert kinds(covered, BACK + days(9)) == {"material", "workmanship"}
    assert kinds(covered, BACK + days(10)) == set()
