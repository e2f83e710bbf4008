"""The floor's verbs on rows: what an act covers, what it sets off, and what happens twice, late or at once."""

from datetime import timedelta

import pytest

from shop import models
from shop.people.identity import Claimed, Proven
from shop.reasons import Refused
from shop.work import actions, conditions, signing, states
from shop.work.floor import Floor
from tests.kept import kept
from tests.work.day import Day

pytestmark = pytest.mark.django_db


@pytest.fixture
def day():
    return kept(Day)


def codes(refusal) -> set[str]:
    return {reason.code for reason in refusal.value.reasons}


def test_a_car_line_covers_the_checklists_open_at_that_press(day):
    day.set_out("hood", "mirror-left")
    outcome = day.tick("wash.bay_ready")
    assert {on.checklist.fitting.place for on in outcome.on.all()} == {"hood.1", "mirror-left.1"}
    day.set_out("fender-left")
    assert day.open_keys("fender-left.1", "wash") >= {"wash.bay_ready"}
    assert "wash.bay_ready" not in day.open_keys("hood.1", "wash")


def test_a_car_line_of_a_later_stage_passes_over_pieces_that_are_not_there_yet(day):
    day.set_out("hood", "mirror-left")
    day.finish("wash", "decontaminate", only="hood.1")
    outcome = day.read("degrease.climate", air_c100=2100, humidity_rh10=500, panel_c100=2000)
    assert [on.checklist.fitting.place for on in outcome.on.all()] == ["hood.1"]


def test_a_later_answer_replaces_an_earlier_one_and_both_are_kept(day):
    day.set_out("hood")
    first = day.tick("wash.hardware_off", "hood.1")
    second = day.answer("wash.hardware_off", "hood.1", answer="na", reason="It came without")
    assert models.OutcomeOn.objects.get(outcome=first).replaced_by == second
    assert models.Outcome.objects.filter(key="wash.hardware_off").count() == 2
    stage, _ = Floor(day.job).piece("hood.1").find("wash.hardware_off")
    assert stage.answers[("wash.hardware_off", "")].outcome == second


def test_an_answer_to_something_else_than_was_seen_is_a_conflict(day):
    day.set_out("hood")
    first = day.tick("wash.hardware_off", "hood.1")
    with pytest.raises(actions.Conflict) as refusal:
        day.answer("wash.hardware_off", "hood.1", answer="na", reason="none", by=day.jonas, seen=0)
    assert "Ines answered “done” at" in refusal.value.reasons[0].text
    day.answer("wash.hardware_off", "hood.1", answer="na", reason="none", by=day.jonas, seen=first.pk)


def test_the_same_answer_twice_is_no_conflict(day):
    day.set_out("hood")
    day.tick("wash.hardware_off", "hood.1")
    day.tick("wash.hardware_off", "hood.1", by=day.jonas, seen=0)


def test_wrong_opens_a_defect_that_holds_the_panel_until_it_is_put_right(day):
    day.set_out("mirror-left")
    day.finish("wash", "decontaminate")
    day.answer("degrease.wipe", "mirror-left.1", edges=["foot"], answer="wrong", reason="fibre on the return")
    defect = models.Defect.objects.get()
    assert (defect.edge.code, defect.line, defect.found_at) == ("foot", "degrease.wipe", "degrease")
    day.finish("degrease", "primer")
    with pytest.raises(Refused) as refusal:
        day.sign("ready")
    assert codes(refusal) == {"defect_open"}
    with pytest.raises(Refused) as refusal:
        day.put_right(defect, photos=[])
    assert codes(refusal) == {"photo_missing"}
    day.put_right(defect, photos=[day.photo()])
    day.sign("ready")


def test_a_cut_in_paint_is_closed_only_with_the_customers_agreement(day):
    day.set_out("mirror-left")
    defect = actions.raise_defect(
        job=day.job,
        panel="mirror-left.1",
        kind="cut_in_paint",
        found_at="wash",
        by=Claimed(day.ines),
        now=day.tick_clock(),
    )
    with pytest.raises(Refused) as refusal:
        day.put_right(defect, photos=[day.photo()])
    assert codes(refusal) == {"paint_cut_not_agreed"}
    day.put_right(defect, photos=[day.photo()], agreed=day.agreement())


def test_a_spoiled_edge_ends_the_round_and_the_car_lines_carry_over(day):
    day.set_out("mirror-left")
    day.finish("wash", "decontaminate", "degrease", "primer")
    day.sign("ready")
    day.tick("degrease.spoiled", "mirror-left.1")
    rounds = models.Checklist.objects.filter(stage="degrease").order_by("round")
    assert [(c.round, c.redone_at is None) for c in rounds] == [(1, False), (2, True)]
    assert models.OutcomeOn.objects.filter(checklist=rounds[0], key="degrease.wipe").exists()
    still_open = day.open_keys("mirror-left.1", "degrease")
    assert "degrease.wipe" in still_open and "degrease.climate" not in still_open
    facts = states.facts_of(Floor(day.job))["mirror-left.1"]
    assert states.current_stage(Floor(day.job).piece("mirror-left.1"), facts) == "degrease"


def test_film_is_not_flooded_on_a_wipe_gone_stale_until_it_is_wiped_again(day):
    day.set_out("mirror-left")
    day.finish("wash", "decontaminate", "degrease", "primer")
    day.sign("ready")
    day.finish("tack", card="before", but="tack.flooding")
    day.pass_time(minutes=31)
    with pytest.raises(Refused) as refusal:
        day.start("tack.flooding", "mirror-left.1")
    assert codes(refusal) == {"stale"}
    day.tick("tack.last_wipe", "mirror-left.1")
    day.start("tack.flooding", "mirror-left.1")


def test_a_reading_older_than_four_hours_has_to_be_taken_again(day):
    day.set_out("mirror-left")
    day.finish("wash", "decontaminate", "degrease", "primer")
    day.sign("ready")
    day.pass_time(hours=4, minutes=1)
    day.finish("tack", card="before", but="tack.flooding")
    with pytest.raises(Refused) as refusal:
        day.start("tack.flooding", "mirror-left.1")
    assert codes(refusal) == {"reading_missing"}


@pytest.mark.parametrize(
    ("panel_c100", "expected"), [(999, {"panel_cold"}), (1000, set()), (3500, set()), (3501, {"panel_hot"})]
)
def test_the_panel_may_be_neither_too_cold_nor_too_hot_for_flooding(day, panel_c100, expected):
    day.set_out("mirror-left")
    day.finish("wash", "decontaminate", "degrease", "primer", panel_c100=panel_c100)
    day.sign("ready")
    day.finish("tack", card="before", but="tack.flooding")
    piece = Floor(day.job).piece("mirror-left.1")
    found = conditions.climate(Floor(day.job), piece, day.now, wet=True)
    assert {reason.code for reason in found if reason.weight == "stop"} == expected


def test_an_answer_pressed_before_the_signature_and_arriving_after_is_a_late_note(day):
    day.set_out("mirror-left")
    day.finish("wash", "decontaminate", "degrease", "primer")
    pressed = day.tick_clock()
    day.sign("ready")
    late = day.answer(
        "decontaminate.clay", "mirror-left.1", answer="wrong", by=day.jonas, happened_at=pressed
    )
    assert late.late and not models.Defect.objects.exists()
    assert models.OutcomeOn.objects.get(outcome=late).late
    with pytest.raises(Refused) as refusal:
        day.tick("decontaminate.clay", "mirror-left.1")
    assert codes(refusal) == {"already_signed"}


def test_whoever_once_worked_on_a_piece_does_not_check_it_even_when_replaced(day):
    day.set_out("mirror-left")
    day.finish("wash", "decontaminate", "degrease", "primer")
    day.tick("degrease.wipe", "mirror-left.1", edges=["foot"], by=day.both)
    day.tick("degrease.wipe", "mirror-left.1", edges=["foot"], by=day.ines)
    day.sign("ready")
    day.lay("mirror-left.1")
    day.pass_time(hours=49)
    with pytest.raises(Refused) as refusal:
        day.tick("cure.edge_round", "mirror-left.1", edges=["foot"], by=day.both)
    assert codes(refusal) == {"same_person"}


def test_car_lines_tie_nobody(day):
    day.set_out("mirror-left")
    day.tick("wash.bay_ready", by=day.both)
    assert day.both.pk not in Floor(day.job).piece("mirror-left.1").hands


def test_one_persons_shop_may_check_its_own_work_from_the_next_day_on(day):
    day.shop.self_release = True
    day.shop.save()
    day.set_out("mirror-left", people=[day.both])
    day.finish("wash", "decontaminate", "degrease", "primer", by=day.both)
    day.sign("ready", by=day.both)
    day.lay("mirror-left.1", by=day.both)
    with pytest.raises(Refused) as refusal:
        day.tick("cure.edge_round", "mirror-left.1", edges=["foot"], by=day.both)
    assert "next_day_rule" in codes(refusal)
    day.read("cure.temperatures", lowest_c100=1900, highest_c100=2100, by=day.both)
    day.pass_time(hours=25)
    day.finish("cure", by=day.both)
    day.sign("released", by=day.both)
    assert models.Release.objects.get(job=day.job).by_installer


def test_a_signing_over_a_screen_that_changed_is_refused(day):
    day.set_out("mirror-left")
    day.finish("wash", "decontaminate", "degrease", "primer")
    floor = Floor(day.job)
    screen = signing.screen_of(floor, floor.pieces, "ready")
    day.tick("decontaminate.clay", "mirror-left.1", by=day.jonas)
    with pytest.raises(Refused) as refusal:
        day.sign("ready", screen=screen)
    assert codes(refusal) == {"screen_changed"}


def test_the_second_signature_reads_who_was_first(day):
    day.set_out("mirror-left")
    day.finish("wash", "decontaminate", "degrease", "primer")
    day.sign("ready")
    with pytest.raises(Refused) as refusal:
        day.sign("ready", by=day.jonas)
    assert codes(refusal) == {"already_signed"} and "Ines" in refusal.value.reasons[0].text
    assert models.Signing.objects.count() == 1


def test_a_photo_promised_and_not_arrived_holds_the_signature(day):
    day.set_out("mirror-left")
    day.finish("wash", "decontaminate", "degrease", "primer")
    upload = models.Upload.objects.create(
        workshop=day.shop, job=day.job, sha256="a" * 64, size=5000, promised_at=day.now, pressed_at=day.now
    )
    places = [{"line": "degrease.wipe", "panel": "mirror-left.1", "edge": "foot"}]
    actions.promise_photo(
        job=day.job, upload=upload, places=places, by=Claimed(day.ines), now=day.tick_clock()
    )
    with pytest.raises(Refused) as refusal:
        day.sign("ready")
    assert codes(refusal) == {"unsent_here"}
    actions.photo_arrived(upload=upload, photo=day.photo(), now=day.tick_clock())
    day.sign("ready")


def test_the_same_bytes_do_not_prove_another_place_later(day):
    day.set_out("mirror-left", "hood")
    photo = day.photo()
    day.prove(photo, "wash.hardware_off", "hood.1")
    with pytest.raises(Refused) as refusal:
        day.prove(photo, "wash.gaps_rinsed", "hood.1")
    assert codes(refusal) == {"photo_reused"}


def test_a_set_out_changed_after_signing_asks_for_exactly_the_new_lines(day):
    day.set_out("mirror-left")
    day.finish("wash", "decontaminate", "degrease", "primer")
    day.sign("ready")
    day.correct("mirror-left", edges=[{"code": "foot", "primer": True}])
    reasons = {r.code: r.text for r in day.in_the_way()}
    assert "set_out_changed" in reasons
    assert day.open_keys("mirror-left.1", "primer") == {"primer.lot", "primer.thin", "primer.flash_off"}
    assert day.open_keys("mirror-left.1", "degrease") == set()
    day.finish("primer")
    day.sign("ready")
    assert "set_out_changed" not in {r.code for r in day.in_the_way()}
    replaced = models.SignOff.objects.exclude(replaced_by=None)
    assert [s.checklist.stage for s in replaced] == ["primer"]


def test_a_signing_needs_a_pin(day):
    day.set_out("mirror-left")
    with pytest.raises(Refused) as refusal:
        actions.sign_ready(job=day.job, panels=["mirror-left.1"], by=Claimed(day.ines), now=day.now)
    assert codes(refusal) == {"not_allowed"}


def test_another_workshops_person_does_nothing_here(day):
    day.set_out("mirror-left")
    otto = day.stranger()
    for act in (
        lambda: day.tick("wash.bay_ready", by=otto),
        lambda: day.sign("ready", by=otto),
        lambda: day.prove(day.photo(), "degrease.wipe", "mirror-left.1", "foot", by=otto),
        lambda: actions.note(job=day.job, panels=[], text="hello", by=Claimed(otto), now=day.now),
        lambda: actions.waive(job=day.job, code="lots_mixed", why="w", by=Proven(otto, "pin"), now=day.now),
    ):
        with pytest.raises(Refused) as refusal:
            act()
        assert codes(refusal) == {"other_workshop"}


def test_the_floor_is_read_in_the_same_number_of_queries_whatever_the_car(day, django_assert_max_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    day.set_out("mirror-left")
    with CaptureQueriesContext(
        connection,
    ) as few:
        Floor(models.Job.objects.for_page().get(pk=day.job.pk))
    day.set_out("hood", "fender-left", "fender-right")
    day.finish("wash")
    with CaptureQueriesContext(connection) as many:
        Floor(models.Job.objects.for_page().get(pk=day.job.pk))
    assert len(many) <= len(few) + 3


def test_cure_waits_and_then_the_release_makes_the_release_row(day):
    day.set_out("mirror-left")
    day.finish("wash", "decontaminate", "degrease", "primer")
    day.sign("ready")
    day.lay("mirror-left.1")
    day.read("cure.temperatures", lowest_c100=1900, highest_c100=2100)
    day.pass_time(hours=23)
    with pytest.raises(Refused) as refusal:
        day.tick("cure.edge_round", "mirror-left.1", edges=["foot"], by=day.marek)
    assert codes(refusal) == {"cure_running"}
    day.pass_time(hours=2)
    day.finish("cure")
    day.sign("released", by=day.marek)
    release = models.Release.objects.get(job=day.job)
    assert not release.by_installer and release.at >= day.now - timedelta(minutes=1)
