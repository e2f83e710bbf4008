"""What happens to cover after its paper, by the verbs: film off, panels replaced, new owners, film laid again."""

from datetime import date

import pytest
from django.db import IntegrityError, transaction

from shop import models
from shop.people.identity import Claimed, Proven, SignedIn
from shop.reasons import Refused
from shop.record.actions import body_of
from shop.warranty import actions
from shop.warranty.cover import cover_of, covers
from shop.warranty.timeline import covered_on
from tests import make
from tests.make_covered import FILM_LAST, FIRST_DAY, WORK_LAST, Covered, days, noon
from tests.make_finished import keep

pytestmark = pytest.mark.django_db
OFF = date(2028, 6, 15)
SOLD = date(2027, 5, 20)


@pytest.fixture
def covered():
    return Covered()


def codes(refusal) -> set[str]:
    return {reason.code for reason in refusal.value.reasons}


def kinds(covered, panel, day, *, today=None):
    cover = cover_of(covered.car, today=today or day)
    return {stretch.kind for stretch in covered_on(day, cover.at(panel, 1))}


def take_off(covered, panel="hood", on=OFF, **more):
    values = {"by": covered.desk, "now": noon(max(on, OFF)), "vehicle": covered.car}
    return actions.take_film_off(panel=panel, on=on, **(values | more))


# ------------------------------------------------------------------ the paper alone


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        (FIRST_DAY - days(1), set()),
        (FIRST_DAY, {"material", "workmanship", "touch_up"}),
        (WORK_LAST, {"material", "workmanship"}),
        (WORK_LAST + days(1), {"material"}),
        (FILM_LAST, {"material"}),
        (FILM_LAST + days(1), set()),
    ],
    # The days alone: a set says its words in another order in every process.
    ids=lambda value: str(value) if isinstance(value, date) else "",
)
def test_the_paper_covers_what_it_says(covered, day, expected):
    assert kinds(covered, "hood", day) == expected


def test_only_the_revision_in_force_counts(covered):
    second = actions.correct(
        certificate=covered.certificate,
        reason="The odometer was wrong.",
        by=proven(covered),
        now=noon(date(2026, 4, 1)),
    )
    cover = cover_of(covered.car, today=FILM_LAST)
    assert {line.revision for line in cover.lines.values()} == {second}
    assert kinds(covered, "hood", FILM_LAST) == {"material"}


def proven(covered):
    return Proven(covered.dora, "pin")


def test_many_cars_in_as_many_queries_as_one(covered, django_assert_num_queries):
    with django_assert_num_queries(4):
        covers([covered.car], today=FIRST_DAY)
    other = make.vehicle(covered.shop, vin="ZZZPP41L7TR041721")
    with django_assert_num_queries(4):
        covers([covered.car, other], today=FIRST_DAY)


# ------------------------------------------------------------------ film off


def test_film_taken_off_ends_the_cover_of_that_panel_alone(covered):
    film = covered.film()
    (event,) = take_off(covered)
    film.refresh_from_db()
    assert (film.ended_as, event.fitting, event.on) == ("removed", film, OFF)
    assert kinds(covered, "hood", OFF) == {"material"}
    assert kinds(covered, "hood", OFF + days(1)) == set()
    assert kinds(covered, "fender-left", OFF + days(1)) == {"material"}
    body = body_of(event.entry)
    assert body["pieces"] == [{"place": "hood.1", "fitting": film.pk, "job": covered.job.pk}]
    assert event.entry.book.job == covered.job


def test_every_piece_of_the_panel_comes_off():
    covered = Covered(panels=(("bumper-front", 2),))
    events = take_off(covered, "bumper-front.2")
    assert [event.fitting.piece for event in events] == [1, 2]
    assert kinds(covered, "bumper-front", OFF + days(1)) == set()


def test_a_replaced_panel_starts_a_life_of_its_own(covered):
    old = covered.film().panel
    take_off(covered, why="panel_replaced")
    old.refresh_from_db()
    new = models.Panel.objects.get(vehicle=covered.car, code="hood", replaced_at__isnull=True)
    assert old.replaced_at and new != old and new.edges.exists()
    assert kinds(covered, "hood", OFF + days(1)) == set()


def test_what_was_found_under_it_is_kept_with_its_photo(covered):
    photo = keep(covered.done, "glue on the paint")
    finding = {
        "panel": "hood.1",
        "edge": "front",
        "kind": "glue_left",
        "note": "a strip of 20 cm",
        "photos": [photo],
    }
    (event,) = take_off(covered, findings=[finding])
    row = event.findings.get()
    assert (row.panel, row.edge.code, row.kind, row.note) == (
        "hood",
        "front",
        "glue_left",
        "a strip of 20 cm",
    )
    assert row.photos.get().photo == photo
    assert body_of(event.entry)["findings"][0]["photos"] == [photo.sha256]


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"panel": "roof"}, "no_film"),
        ({"panel": "sail"}, "no_film"),
        ({"why": "stolen"}, "value_wrong"),
        ({"on": FIRST_DAY - days(1)}, "day_wrong"),
        ({"on": OFF + days(1), "now": noon(OFF)}, "day_wrong"),
        ({"findings": [{"panel": "roof.1", "kind": "clean"}]}, "no_film"),
        ({"findings": [{"panel": "hood.1", "kind": "lost"}]}, "value_wrong"),
        ({"findings": [{"panel": "hood.1", "kind": ""}]}, "value_wrong"),
        ({"findings": [{"panel": "hood.1", "kind": "clean", "edge": "mast"}]}, "value_wrong"),
        ({"findings": [{"panel": "hood.1", "kind": "clean", "note": "x" * 301}]}, "value_wrong"),
    ],
    ids=str,
)
def test_film_that_cannot_come_off(covered, more, code):
    with pytest.raises(Refused) as refusal:
        take_off(covered, **more)
    assert codes(refusal) == {code}
    assert not models.CoverEvent.objects.exists() and covered.film().ended_at is None


def test_film_of_a_running_job_is_settled_there(covered):
    models.HandOver.objects.all().delete()
    with pytest.raises(Refused) as refusal:
        take_off(covered)
    assert codes(refusal) == {"job_closed"}


def test_taken_off_twice_is_refused(covered):
    take_off(covered)
    with pytest.raises(Refused) as refusal:
        take_off(covered)
    # What is not there cannot come off; its paper names the piece, so no whole panel is meant.
    assert codes(refusal) == {"no_film"}


def test_a_photo_of_another_workshop_is_no_proof_here(covered):
    other = make.workshop(name="Elsewhere")
    photo = models.Photo.objects.create(
        workshop=other, sha256="e" * 64, size=1, type="jpeg", w=900, h=900, kept_at=make.NOW
    )
    with pytest.raises(Refused) as refusal:
        take_off(covered, findings=[{"panel": "hood.1", "kind": "clean", "photos": [photo]}])
    assert codes(refusal) == {"other_workshop"}


def test_who_may_take_film_off(covered):
    for by, code in (
        (Claimed(covered.dora), "not_allowed"),
        (SignedIn(make.person(covered.shop, "Guest")), "not_allowed"),
        (covered.stranger(), "other_workshop"),
    ):
        with pytest.raises(Refused) as refusal:
            take_off(covered, by=by)
        assert codes(refusal) == {code}


def test_film_laid_on_the_panel_afterwards_has_a_cover_of_its_own(covered):
    take_off(covered)
    film = models.Fitting.objects.filter(panel__code="hood").first()
    assert not models.Fitting.objects.live().filter(panel=film.panel).exists()
    assert kinds(covered, "hood", FIRST_DAY) == {"material", "workmanship", "touch_up"}


# ------------------------------------------------------------------ a new owner


def sell(covered, sold_on=SOLD, told_on=None, name="Cem Doğan", **more):
    today = max(sold_on, told_on or sold_on)
    values = {"by": covered.desk, "now": noon(today), "vehicle": covered.car, "told_on": told_on}
    return actions.transfer_cover(name=name, sold_on=sold_on, **(values | more))


def test_cover_stays_with_the_car_and_the_new_owner_is_found_by_name(covered):
    event = sell(covered, phone="+34 600 111 222", mail="cem@mail.example")
    old, new = models.Ownership.objects.order_by("pk")
    assert (old.until, new.since, new.until) == (SOLD, SOLD, None)
    assert event.ownership == new and str(new.customer) == "Cem Doğan"
    assert kinds(covered, "hood", FILM_LAST) == {"material"}
    assert models.SearchKey.objects.filter(vehicle=covered.car, kind="name", key="cem").exists()
    body = body_of(event.entry)
    assert body["ends_cover"] is False and "Cem" not in event.entry.body


NEVER = {"transfer": {"rule": "never"}}
ONCE = {"transfer": {"rule": "once"}}
NOTICE = {"transfer": {"rule": "always", "notice_days": 30}}


def test_terms_that_never_pass_it_on_end_it_but_only_knowingly():
    covered = Covered(**NEVER)
    with pytest.raises(Refused) as refusal:
        sell(covered)
    assert codes(refusal) == {"cover_not_passed"}
    assert "ends on 20 May 2027" in refusal.value.reasons[0].text
    assert models.Ownership.objects.count() == 1
    sell(covered, accept_end=True)
    assert kinds(covered, "hood", SOLD) == {"material"}
    assert kinds(covered, "hood", SOLD + days(1)) == set()


def test_once_is_once():
    covered = Covered(**ONCE)
    sell(covered)
    later = date(2028, 8, 1)
    with pytest.raises(Refused) as refusal:
        sell(covered, later, name="Dita Novak")
    assert "passes on once, and it has" in refusal.value.reasons[0].text
    sell(covered, later, name="Dita Novak", accept_end=True)
    assert kinds(covered, "hood", later) == {"material"}
    assert kinds(covered, "hood", later + days(1)) == set()


@pytest.mark.parametrize(("told_after", "passes"), [(0, True), (30, True), (31, False)])
def test_the_notice_window_is_judged_by_the_day_told(told_after, passes):
    covered = Covered(**NOTICE)
    told = SOLD + days(told_after)
    if not passes:
        with pytest.raises(Refused) as refusal:
            sell(covered, told_on=told)
        assert "later than 30 days" in refusal.value.reasons[0].text
    sell(covered, told_on=told, accept_end=not passes)
    assert bool(kinds(covered, "hood", FILM_LAST)) is passes


def test_a_sale_after_the_cover_ran_out_needs_no_word_of_warning():
    covered = Covered(**NEVER)
    sell(covered, FILM_LAST + days(1))
    assert models.CoverEvent.objects.count() == 1


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"name": ""}, "field_missing"),
        ({"name": "ana berg"}, "already_recorded"),
        ({"mail": "nowhere"}, "value_wrong"),
        ({"sold_on": FIRST_DAY - days(1), "now": noon(SOLD)}, "day_wrong"),
        ({"sold_on": SOLD + days(1), "now": noon(SOLD)}, "day_wrong"),
        ({"told_on": SOLD - days(1), "now": noon(SOLD)}, "day_wrong"),
        ({"told_on": SOLD + days(1), "now": noon(SOLD)}, "day_wrong"),
    ],
    ids=str,
)
def test_a_sale_that_is_not_taken_down(covered, more, code):
    with pytest.raises(Refused) as refusal:
        sell(covered, **more)
    assert codes(refusal) == {code}
    assert models.Ownership.objects.count() == 1 and not models.CoverEvent.objects.exists()


def test_who_may_take_down_a_sale(covered):
    for by, code in (
        (Claimed(covered.dora), "not_allowed"),
        (SignedIn(covered.ines), "not_allowed"),
        (covered.stranger(), "other_workshop"),
    ):
        with pytest.raises(Refused) as refusal:
            sell(covered, by=by)
        assert codes(refusal) == {code}


# ------------------------------------------------------------------ the rows themselves


def test_no_event_is_neither_of_the_car_nor_of_a_panel(covered):
    (event,) = take_off(covered)
    for wrong in (
        {"kind": "sold"},
        {"panel": ""},
        {"told_on": OFF - days(1)},
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            models.CoverEvent.objects.filter(pk=event.pk).update(**wrong)
