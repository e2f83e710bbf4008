"""Filming again: the old film ends and keeps its record, the new one begins at the right stage."""

from datetime import date, timedelta

import pytest

from shop import clock, models
from shop.intake import actions as intake
from shop.people.identity import Claimed, Proven, SignedIn
from shop.people.tablets import cookie_of
from shop.reasons import Refused
from shop.record.actions import body_of as said
from shop.work import actions, progress, setout, states
from shop.work.floor import Floor, film_floor
from tests import make
from tests.kept import kept
from tests.work.day import Day

pytestmark = pytest.mark.django_db
STAGES = ["wash", "decontaminate", "degrease", "primer", "tack", "seal", "steam", "cure"]


def laid():
    """A mirror cap laid and sealed, and one whose edges wait for nothing but their release."""
    day = kept(Day)
    day.set_out("mirror-left")
    day.finish("wash", "decontaminate", "degrease", "primer")
    day.sign("ready")
    day.lay("mirror-left.1")
    return day


@pytest.fixture
def day():
    return kept(laid)


def codes(refusal) -> set[str]:
    return {reason.code for reason in refusal.value.reasons}


def fitting():
    return models.Fitting.objects.live().get()


def again(day, from_stage="degrease", *, place="mirror-left.1", by=None, **more):
    return actions.film_again(
        job=day.job,
        panel=place,
        from_stage=from_stage,
        by=by or Claimed(day.ines),
        now=day.tick_clock(),
        **more,
    )


def carried(day, place="mirror-left.1"):
    piece = Floor(day.job).piece(place)
    return [code for code, stage in piece.stages.items() if stage.carried]


def release(day, *stages):
    """Whatever is left from where work began again, to the release."""
    day.finish(*[stage for stage in stages if stage in STAGES[:4]])
    if set(stages) & set(STAGES[:4]):
        day.sign("ready")
    day.lay("mirror-left.1")
    day.pass_time(hours=1)
    day.finish("cure", but="cure.edge_round")
    day.pass_time(hours=25)
    day.finish("cure")
    day.sign("released")


def test_the_old_film_ends_and_the_new_one_takes_its_place(day):
    old = fitting()
    new = again(day)
    old.refresh_from_db()
    assert (old.ended_as, old.ended_at) == ("filmed_again", day.now)
    assert (new.replaces, new.from_stage, new.roll, new.place) == (old, "degrease", old.roll, old.place)
    assert fitting() == new
    same = lambda row: [(e.code, e.finish, e.return_mm, e.primer) for e in row.edges.all()]  # noqa: E731
    assert same(new) == same(old) and new.edges.count() > 0
    assert {p.person for p in new.people.all()} == {day.ines, day.jonas}


def test_stages_before_are_carried_and_those_after_begin_anew(day):
    again(day)
    assert carried(day) == ["wash", "decontaminate"]
    piece = Floor(day.job).piece("mirror-left.1")
    facts = states.facts_of(Floor(day.job))["mirror-left.1"]
    assert [states.stage_state(piece, facts, stage) for stage in STAGES[:2]] == ["signed", "signed"]
    assert not piece.stages["degrease"].answers and not piece.stages["tack"].answers
    assert progress.unsigned_stages(facts, "ready") == ["degrease", "primer"] or progress.unsigned_stages(
        facts, "ready"
    ) == ["degrease"]


def test_it_goes_on_to_its_release_and_the_old_record_stands(day):
    old = fitting()
    before = list(models.OutcomeOn.objects.filter(checklist__fitting=old).values_list("pk", "replaced_by"))
    signed = list(models.SignOff.objects.filter(checklist__fitting=old).values_list("pk", "replaced_by"))
    again(day)
    release(day, *STAGES[2:])
    assert models.Release.objects.filter(job=day.job).exists()
    assert before == list(
        models.OutcomeOn.objects.filter(checklist__fitting=old).values_list("pk", "replaced_by")
    )
    assert signed == list(
        models.SignOff.objects.filter(checklist__fitting=old).values_list("pk", "replaced_by")
    )
    assert film_floor(models.Fitting.objects.for_work().get(pk=old.pk)).pieces[0].row == old


def test_what_is_signed_again_names_only_what_was_done_again(day):
    again(day)
    day.finish("degrease", "primer")
    signing = day.sign("ready")
    assert {row["stage"] for row in signing.lines.values()} == {"degrease", "primer"}


def test_beginning_at_the_edges_leaves_the_film_and_its_record_on(day):
    old = fitting()
    new = again(day, "seal")
    assert new.roll == old.roll
    assert carried(day) == STAGES[:5]
    day.finish("seal", "steam")
    day.sign("laid")
    assert [s.checklist.fitting for s in models.SignOff.objects.live().filter(checklist__stage="seal")][
        -1
    ] == new


def test_a_chain_carries_from_as_far_back_as_the_work_was_done(day):
    again(day, "tack")
    day.lay("mirror-left.1")
    again(day, "seal")
    piece = Floor(day.job).piece("mirror-left.1")
    assert carried(day) == STAGES[:5]
    first, second = models.Fitting.objects.order_by("pk")[:2]
    assert piece.stages["wash"].checklist.fitting_id == first.pk
    assert piece.stages["tack"].checklist.fitting_id == second.pk


def test_an_event_in_a_carried_stage_makes_it_this_films_own(day):
    old = fitting()
    again(day, "tack")
    day.answer("degrease.spoiled", "mirror-left.1", reason="touched")
    assert carried(day) == ["wash", "decontaminate", "primer"]
    assert models.Checklist.objects.get(fitting=old, stage="degrease").redone_at is None
    assert models.SignOff.objects.live().filter(checklist__fitting=old, checklist__stage="degrease").exists()
    assert "degrease.wipe" in day.open_keys("mirror-left.1", "degrease")


def test_a_line_added_to_a_carried_stage_is_answered_on_this_film(day):
    old = fitting()
    again(day, "tack")
    day.correct("mirror-left", edges=[{"code": "foot", "finish": "wrapped", "return_mm": 8, "primer": True}])
    with pytest.raises(Refused) as refusal:
        day.start("tack.flooding", "mirror-left.1")
    assert "set_out_changed" in codes(refusal)
    count = models.OutcomeOn.objects.filter(checklist__fitting=old).count()
    day.finish("degrease", "primer")
    assert models.OutcomeOn.objects.filter(checklist__fitting=old).count() == count
    day.sign("ready")
    day.lay("mirror-left.1")


def test_who_did_a_carried_stage_does_not_check_the_new_film(day):
    day.job.workshop.refresh_from_db()
    again(day, "seal")
    setout.set_out(
        job=day.job,
        panel="mirror-left",
        pieces=[{"piece": 1, "people": [day.jonas.pk]}],
        by=SignedIn(day.petra),
        now=day.tick_clock(),
    )
    models.PersonRole.objects.create(person=day.ines, role="inspector")
    day.finish("seal", "steam", by=day.jonas)
    day.sign("laid", by=day.jonas)
    day.pass_time(hours=30)
    with pytest.raises(Refused) as refusal:
        day.answer("cure.edge_round", "mirror-left.1", edges=["foot"], by=day.ines)
    assert "same_person" in codes(refusal)


def test_whoever_laid_the_old_film_may_check_new_film_that_carries_nothing(day):
    again(day, "wash")
    assert Floor(day.job).piece("mirror-left.1").hands == frozenset()


# ------------------------------------------------------------------ refused


@pytest.mark.parametrize("stage", ["cure", "steam", "polish", ""])
def test_it_begins_at_a_stage_where_work_can_begin(day, stage):
    with pytest.raises(Refused) as refusal:
        again(day, stage)
    assert codes(refusal) == {"answer_unfit"}


def test_nothing_to_replace_is_said(day):
    with pytest.raises(Refused) as refusal:
        again(day, place="hood.1")
    assert codes(refusal) == {"no_film"}
    with pytest.raises(Refused) as refusal:
        again(day, place="sail.1")
    assert codes(refusal) == {"not_asked"}


def test_a_stage_that_was_never_signed_is_not_carried():
    day = kept(Day)
    day.set_out("mirror-left")
    day.finish("wash")
    with pytest.raises(Refused) as refusal:
        again(day, "degrease")
    assert codes(refusal) == {"stage_not_done"}
    again(day, "wash")


def test_another_roll_means_laying_it_again(day):
    other = make.roll(day.shop, code="R-9")
    with pytest.raises(Refused) as refusal:
        again(day, "seal", roll=other)
    assert codes(refusal) == {"lot_wrong"}
    assert again(day, "tack", roll=other).roll == other


def test_the_roll_is_looked_at(day):
    old = make.roll(day.shop, code="R-0", expires_on=date(2026, 1, 31))
    with pytest.raises(Refused) as refusal:
        again(day, roll=old)
    assert codes(refusal) == {"roll_expired"}
    models.Lot.objects.filter(pk=day.roll.lot_id).update(quarantined_at=day.now)
    with pytest.raises(Refused) as refusal:
        again(day)
    assert codes(refusal) == {"lot_quarantined"}
    assert fitting().replaces is None


def test_two_lots_on_one_car_want_the_owners_word(day):
    day.set_out("mirror-right")
    other = make.roll(day.shop, lot="L-9999", code="R-2")
    with pytest.raises(Refused) as refusal:
        again(day, roll=other)
    assert codes(refusal) == {"lots_mixed"}
    actions.waive(
        job=day.job,
        code="lots_mixed",
        why="the lot is used up",
        by=Proven(day.petra, "pin"),
        now=day.tick_clock(),
    )
    assert again(day, roll=other).roll == other


def test_a_cut_in_paint_does_not_go_with_the_film(day):
    actions.raise_defect(
        job=day.job,
        panel="mirror-left.1",
        kind="cut_in_paint",
        found_at="steam",
        by=Claimed(day.ines),
        now=day.tick_clock(),
    )
    with pytest.raises(Refused) as refusal:
        again(day)
    assert codes(refusal) == {"paint_cut_not_agreed"}


def test_who_may(day):
    with pytest.raises(Refused) as refusal:
        again(day, by=Claimed(make.person(day.shop, "Guest")))
    assert codes(refusal) == {"not_allowed"}
    with pytest.raises(Refused) as refusal:
        again(day, by=Claimed(day.stranger()))
    assert codes(refusal) == {"other_workshop"}


# ------------------------------------------------------------------ by way of a defect


def film_again_for(day, defect, **more):
    return actions.put_right(
        job=day.job,
        defect=models.Defect.objects.get(pk=defect.pk),
        disposition="film_again",
        by=Claimed(day.ines),
        now=day.tick_clock(),
        **more,
    )


def torn(day, kind="torn_corner"):
    return actions.raise_defect(
        job=day.job,
        panel="mirror-left.1",
        kind=kind,
        found_at="steam",
        by=Claimed(day.ines),
        now=day.tick_clock(),
    )


def test_a_defect_settled_by_filming_again_makes_a_new_fitting(day):
    old, defect, speck = fitting(), torn(day), torn(day, "speck")
    film_again_for(day, defect)
    new = fitting()
    assert (new.replaces, new.from_stage) == (old, "degrease")
    defect.refresh_from_db()
    speck.refresh_from_db()
    assert (defect.disposition, defect.closed_by) == ("film_again", day.ines)
    assert speck.closed_at and speck.closing_note == "Went with the film that was filmed again."
    assert Floor(day.job).piece("mirror-left.1").defects == []
    body = said(models.Entry.objects.filter(verb="put_right").last())
    assert body["again"]["fitting"] == new.pk and body["again"]["from_stage"] == "degrease"
    release(day, *STAGES[2:])


def test_filmed_again_before_it_was_ready_begins_where_nothing_is_signed():
    day = kept(Day)
    day.set_out("mirror-left")
    day.finish("wash", "decontaminate")
    film_again_for(day, torn(day))
    assert fitting().from_stage == "wash"


def test_a_cut_in_paint_settled_by_filming_again_wants_the_customer(day):
    cut = torn(day, "cut_in_paint")
    with pytest.raises(Refused) as refusal:
        film_again_for(day, cut)
    assert codes(refusal) == {"paint_cut_not_agreed"}
    film_again_for(day, cut, agreed=day.agreement())
    assert fitting().replaces


def test_other_ways_make_no_new_fitting(day):
    old = fitting()
    day.put_right(torn(day), photos=[day.photo()])
    assert fitting() == old


# ------------------------------------------------------------------ in another job


@pytest.fixture
def later(day):
    """The same car two years on, in a job of its own."""
    day.pass_time(hours=1)
    day.finish("cure", but="cure.edge_round")
    day.pass_time(hours=25)
    day.finish("cure")
    day.sign("released")
    actions.hand_over(
        job=day.job,
        on=day.now.date(),
        strokes=[[[1, 1], [900, 300]]],
        text="I have my car back.",
        by=Proven(day.petra, "pin"),
        now=day.now,
    )
    day.now += timedelta(days=700)
    models.Roll.objects.update(expires_on=date(2029, 1, 1))
    day.first = day.job
    day.job = make.job(
        day.shop,
        car=day.job.vehicle,
        number="28-0001",
        customer=day.job.customer,
        plan=day.job.plan,
        body=day.job.body,
        arrived_at=day.now,
    )
    return day


def test_a_repair_years_later_lays_film_again_from_the_wash(later):
    old = fitting()
    with pytest.raises(Refused) as refusal:
        again(later, "degrease")
    assert codes(refusal) == {"stage_not_done"}
    new = again(later, "wash", by=SignedIn(later.petra))
    assert (new.job, new.replaces, new.roll, list(new.people.all())) == (later.job, old, None, [])
    later.set_out("mirror-left")
    release(later, *STAGES)
    assert models.Release.objects.filter(job=later.job).exists()


def test_a_repair_of_an_edge_keeps_the_film_and_all_before_the_edges(later):
    old = fitting()
    new = again(later, "seal", by=SignedIn(later.petra))
    assert (new.roll, carried(later)) == (old.roll, STAGES[:5])
    later.correct("mirror-left", people=[later.jonas.pk])
    later.finish("seal", "steam", by=later.jonas)
    later.sign("laid", by=later.jonas)
    later.pass_time(hours=1)
    later.finish("cure", but="cure.edge_round", by=later.jonas)
    later.pass_time(hours=60)
    later.finish("cure")
    later.sign("released")
    assert models.Release.objects.filter(job=later.job).exists()


def test_a_job_that_is_over_takes_no_film(later):
    later.job = later.first
    with pytest.raises(Refused) as refusal:
        again(later, "wash")
    assert codes(refusal) == {"job_closed"}


def test_the_floor_asks_as_often_for_many_carried_films_as_for_one(day, django_assert_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    again(day, "tack")
    with CaptureQueriesContext(connection) as one:
        Floor(models.Job.objects.for_page().get(pk=day.job.pk))
    day.lay("mirror-left.1")
    again(day, "seal")
    day.set_out("mirror-right")
    day.finish("wash", "decontaminate", "degrease", "primer", only="mirror-right.1")
    day.sign("ready", panels=["mirror-right.1"])
    again(day, "tack", place="mirror-right.1")
    with django_assert_num_queries(len(one)):
        Floor(models.Job.objects.for_page().get(pk=day.job.pk))


def test_a_repair_called_off_leaves_the_film_of_before_on_the_car(later):
    old = fitting()
    again(later, "wash", by=SignedIn(later.petra))
    intake.cancel_job(
        job=later.job, why="customer will come in spring", by=SignedIn(later.petra), now=later.tick_clock()
    )
    assert fitting() == old
    assert (fitting().ended_at, fitting().ended_as) == (None, "")


def test_a_job_called_off_does_not_bring_back_film_it_replaced_itself():
    day = kept(Day)
    day.set_out("mirror-left")
    again(day, "wash")
    intake.cancel_job(job=day.job, why="no time", by=SignedIn(day.petra), now=day.tick_clock())
    assert not models.Fitting.objects.live().exists()


def test_the_page_of_a_defect_lets_it_be_filmed_again(day, client):
    defect = torn(day)
    tablet = make.tablet(day.shop)
    client.cookies["tablet"] = cookie_of(tablet)
    address = f"/bay/{day.job.pk}/defects/{defect.pk}/"
    page = client.get(address)
    assert "Film again from" in page.text
    sent = {
        "key": "a" * 32,
        "kind": "torn_corner",
        "cause": "",
        "disposition": "film_again",
        "from_stage": "tack",
        "note": "",
        "person": day.ines.pk,
    }
    with clock.held_at(day.tick_clock()):
        answer = client.post(address, sent)
    assert answer.status_code == 302, answer.text
    assert fitting().from_stage == "tack"
    assert client.get(answer["Location"], follow=True).status_code == 200
    assert client.get(address).status_code == 200
