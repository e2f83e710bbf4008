"""A claim by its verbs: reported, photographed, read, asked, decided, repaired; and every refusal on the way."""

from datetime import date

import pytest
from django.db import IntegrityError, transaction

from shop import models
from shop.claims import actions
from shop.claims.clauses import clauses
from shop.claims.judging import WAITS, judge, waits_for
from shop.intake.actions import cancel_job
from shop.people.identity import Claimed, Proven, SignedIn
from shop.reasons import Refused
from shop.record.actions import body_of
from shop.warranty import actions as warranty
from tests import make
from tests.make_covered import FILM_LAST, FIRST_DAY, WORK_LAST, Covered, days, noon
from tests.make_finished import keep

pytestmark = pytest.mark.django_db
NOTICED, TOLD = date(2026, 11, 16), date(2026, 11, 18)
LIFT = {"panel": "fender-left.1", "edge": "arch", "symptom": "lifted_edge"}


@pytest.fixture
def covered():
    return Covered()


def codes(refusal) -> set[str]:
    return {reason.code for reason in refusal.value.reasons}


def report(covered, **more):
    values = {"vehicle": covered.car, "noticed_on": NOTICED, "told_on": TOLD, "by": covered.desk, **LIFT}
    values |= {"now": noon(more.get("told_on") or TOLD)}
    return actions.report_claim(**(values | more))


def photo(covered, words="lift with a ruler"):
    return keep(covered.done, words)


def page(claim):
    return models.Claim.objects.for_page().get(pk=claim.pk)


def waits(claim):
    claim = page(claim)
    return waits_for(claim, list(claim.photos.all()), list(claim.glue_readings.all()))


def decide(covered, claim, outcome="accept", **more):
    shares = {"accept": {"shop_pct": 100}, "refuse": {"customer_pct": 100}}.get(outcome, {})
    values = {
        "claim": claim,
        "outcome": outcome,
        "clause": "covered.edges",
        "reason": "The glue was wet when the edge was pressed down.",
        "by": Proven(covered.dora, "pin"),
        "now": noon(TOLD),
    }
    return actions.decide(**(values | shares | more))


def repair_job(covered, number="26-0044"):
    return make.job(
        covered.shop,
        car=covered.car,
        number=number,
        customer=covered.job.customer,
        plan=covered.job.plan,
        body=covered.job.body,
        arrived_at=noon(TOLD),
    )


def link(covered, claim, job=None, **more):
    values = {"claim": claim, "job": job or repair_job(covered), "by": covered.desk, "now": noon(TOLD)}
    return actions.link_repair(**(values | more))


# ------------------------------------------------------------------ reported


def test_a_report_lands_on_the_edge_and_on_the_promise_that_answers(covered):
    claim = report(covered, said="It lifts when I wash it.", photos=[photo(covered)])
    film = covered.film("fender-left.1")
    assert (claim.number, claim.panel, claim.fitting, claim.edge.code) == (
        "26-0001",
        "fender-left",
        film,
        "arch",
    )
    assert (claim.line.kind, claim.line.fitting) == ("workmanship", film)
    assert (claim.noticed_on, claim.told_on, claim.told_how) == (NOTICED, TOLD, "phone")
    body = body_of(claim.entry)
    assert body["place"] == "fender-left.1" and claim.entry.book.job == covered.job
    assert "It lifts" not in claim.entry.body and claim.said.value == "It lifts when I wash it."
    assert claim.photos.get().origin == "customer"


@pytest.mark.parametrize(
    ("noticed", "kind"),
    [
        (FIRST_DAY, "touch_up"),
        (WORK_LAST, "workmanship"),
        (WORK_LAST + days(1), "material"),
        (FILM_LAST + days(1), "material"),
    ],
    ids=str,
)
def test_the_day_noticed_decides_which_promise(covered, noticed, kind):
    claim = report(covered, noticed_on=noticed, told_on=noticed + days(400))
    assert claim.line.kind == kind
    found = judge(page(claim), now=noon(noticed + days(400))).standing
    assert found.answers == ("" if noticed > FILM_LAST else kind)


def test_told_after_the_cover_ended_counts_by_the_day_noticed(covered):
    claim = report(covered, noticed_on=WORK_LAST, told_on=date(2029, 1, 1))
    assert judge(page(claim), now=noon(date(2029, 1, 1))).standing.answers == "workmanship"


def test_the_terms_own_deadline_is_judged_by_the_day_told():
    covered = Covered(claim={"tell_within_days": 30})
    claim = report(covered, noticed_on=NOTICED, told_on=NOTICED + days(31))
    found = judge(page(claim), now=noon(NOTICED + days(31))).standing
    assert (found.answers, found.in_time, found.stands) == ("workmanship", False, False)


def test_a_missed_recheck_weakens_and_ends_nothing(covered):
    claim = report(covered)
    found = judge(page(claim), now=noon(TOLD)).standing
    assert found.weakened and found.missed == (date(2026, 3, 10),)
    assert found.answers == "workmanship" and not found.presumed
    warranty.record_recheck(
        certificate=covered.certificate,
        key="first_recheck",
        on=date(2026, 3, 12),
        by=covered.desk,
        now=noon(TOLD),
    )
    found = judge(page(claim), now=noon(TOLD)).standing
    assert not found.weakened and found.presumed


def test_film_taken_off_is_judged_by_whether_it_was_on_that_day(covered):
    off = date(2026, 11, 17)
    warranty.take_film_off(vehicle=covered.car, panel="fender-left", on=off, by=covered.desk, now=noon(off))
    before, after = report(covered), report(covered, noticed_on=TOLD, symptom="peeling")
    now = noon(TOLD)
    assert judge(page(before), now=now).standing.answers == "workmanship"
    found = judge(page(after), now=now).standing
    assert not found.in_force and "when the film was taken off" in " ".join(found.why)


def test_a_claim_noticed_on_the_film_of_before_stays_with_that_film(covered):
    old = covered.film("fender-left.1")
    new = covered.again(date(2026, 11, 17), place="fender-left.1")
    before, after = report(covered), report(covered, noticed_on=TOLD)
    assert (before.fitting, after.fitting) == (old, new)


def test_a_piece_is_not_its_neighbour():
    covered = Covered(panels=(("bumper-front", 2),))
    claim = report(covered, panel="bumper-front.2", edge="", symptom="peeling")
    assert claim.fitting.piece == 2 and claim.line.fitting.piece == 2


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"panel": "roof.1", "edge": ""}, "no_film"),
        ({"panel": "fender-left.7", "edge": ""}, "no_film"),
        ({"panel": "", "edge": ""}, "no_film"),
        ({"edge": "mast"}, "value_wrong"),
        ({"symptom": "ugly"}, "value_wrong"),
        ({"told_how": "pigeon"}, "value_wrong"),
        ({"noticed_on": TOLD + days(1), "now": noon(TOLD)}, "day_wrong"),
        ({"noticed_on": NOTICED, "told_on": NOTICED - days(1), "now": noon(TOLD)}, "day_wrong"),
        ({"told_on": TOLD + days(1), "now": noon(TOLD)}, "day_wrong"),
        ({"said": "x" * 2001}, "value_wrong"),
    ],
    ids=str,
)
def test_a_report_that_is_not_taken_down(covered, more, code):
    entries = models.Entry.objects.count()
    with pytest.raises(Refused) as refusal:
        report(covered, **more)
    assert codes(refusal) == {code}
    assert not models.Claim.objects.exists() and models.Entry.objects.count() == entries


def test_everything_wrong_is_said_at_once(covered):
    with pytest.raises(Refused) as refusal:
        report(covered, symptom="ugly", told_how="pigeon", edge="mast")
    assert len(refusal.value.reasons) == 3


def test_an_open_claim_about_the_same_is_added_to(covered):
    claim = report(covered)
    with pytest.raises(Refused) as refusal:
        report(covered)
    assert codes(refusal) == {"already_recorded"} and claim.number in refusal.value.reasons[0].text
    report(covered, edge="lamp")
    report(covered, symptom="peeling")
    decide(covered, claim, "refuse")
    report(covered)
    assert models.Claim.objects.count() == 4


def test_numbers_follow_each_other_and_start_anew_with_the_year(covered):
    numbers = [
        report(covered, edge="lamp").number,
        report(covered).number,
        report(covered, noticed_on=date(2027, 1, 2), told_on=date(2027, 1, 2), symptom="peeling").number,
    ]
    assert numbers == ["26-0001", "26-0002", "27-0001"]


def test_who_may_report(covered):
    for by, code in (
        (Claimed(covered.dora), "not_allowed"),
        (SignedIn(covered.ines), "not_allowed"),
        (covered.stranger(), "other_workshop"),
    ):
        with pytest.raises(Refused) as refusal:
            report(covered, by=by)
        assert codes(refusal) == {code}


# ------------------------------------------------------------------ photos and the glue side


def glue(covered, claim, reading="shiny", **more):
    values = {"claim": claim, "reading": reading, "by": SignedIn(covered.marek), "now": noon(TOLD)}
    return actions.add_glue_side(**(values | more))


def add(covered, claim, photos, **more):
    values = {"claim": claim, "photos": photos, "by": covered.desk, "now": noon(TOLD)}
    return actions.add_claim_photos(**(values | more))


def test_photos_are_kept_with_what_they_show_and_who_took_them(covered):
    claim = report(covered)
    add(covered, claim, [photo(covered, "near")], shot="ruler")
    add(covered, claim, [photo(covered, "here")], shot="far", taken_here=True)
    rows = list(claim.photos.order_by("pk").values_list("shot", "origin"))
    assert rows == [("ruler", "customer"), ("far", "shop")]


def test_the_glue_side_gives_a_provisional_cause(covered):
    claim = report(covered)
    row = glue(covered, claim, photos=[photo(covered, "glue")], note="bright as new")
    assert row.causes == ["tension", "wet_edge"]
    assert claim.photos.get().shot == "glue"
    second = glue(covered, claim, "grit")
    assert second.causes == ["contamination"] and claim.glue_readings.count() == 2


def test_a_reading_without_a_photo_is_nobodys_proof(covered):
    claim = report(covered, photos=[photo(covered)])
    with pytest.raises(Refused) as refusal:
        glue(covered, claim)
    assert codes(refusal) == {"photo_missing"}
    add(covered, claim, [photo(covered, "glue")], shot="glue", taken_here=True)
    glue(covered, claim)


def test_photos_and_readings_that_are_not_kept(covered):
    claim, shown = report(covered), photo(covered)
    other = models.Photo.objects.create(
        workshop=make.workshop(name="Elsewhere"),
        sha256="e" * 64,
        size=1,
        type="jpeg",
        w=900,
        h=900,
        kept_at=make.NOW,
    )
    add(covered, claim, [shown])
    for act, code in (
        (lambda: add(covered, claim, []), "field_missing"),
        (lambda: add(covered, claim, [shown]), "already_recorded"),
        (lambda: add(covered, claim, [other]), "other_workshop"),
        (lambda: add(covered, claim, [photo(covered, "b")], shot="selfie"), "value_wrong"),
        (lambda: add(covered, claim, [photo(covered, "c")], by=Claimed(covered.dora)), "not_allowed"),
        (lambda: glue(covered, claim, "wonderful", photos=[photo(covered, "d")]), "value_wrong"),
        (lambda: glue(covered, claim, photos=[other]), "other_workshop"),
        (lambda: glue(covered, claim, photos=[shown]), "already_recorded"),
        (lambda: glue(covered, claim, photos=[photo(covered, "e")], note="x" * 301), "value_wrong"),
        (lambda: glue(covered, claim, by=covered.stranger()), "other_workshop"),
    ):
        with pytest.raises(Refused) as refusal:
            act()
        assert codes(refusal) == {code}
    assert claim.photos.count() == 1 and not claim.glue_readings.exists()


# ------------------------------------------------------------------ the supplier


def ask(covered, claim, **more):
    return actions.wait_for_supplier(
        **({"claim": claim, "asked": "May we strip it?", "by": covered.desk, "now": noon(TOLD)} | more)
    )


def answer(covered, claim, said="agreed", **more):
    return actions.supplier_answered(
        **({"claim": claim, "answer": said, "by": covered.desk, "now": noon(TOLD)} | more)
    )


def test_while_the_supplier_is_asked_the_film_stays_on(covered):
    claim = report(covered)
    ask(covered, claim)
    assert waits(claim) == "supplier" and WAITS["supplier"] == "The supplier: leave it on"
    for act in (
        lambda: decide(covered, claim),
        lambda: link(covered, claim),
        lambda: warranty.take_film_off(
            vehicle=covered.car, panel="fender-left", on=TOLD, by=covered.desk, now=noon(TOLD)
        ),
    ):
        with pytest.raises(Refused) as refusal:
            act()
        assert codes(refusal) & {"waiting_for_supplier", "not_decided"}
    wait = answer(covered, claim, "refused", note="glue is theirs, work is ours")
    assert (wait.answer, wait.answered_at) == ("refused", noon(TOLD))
    assert waits(claim) != "supplier"
    decide(covered, claim)


def test_a_panel_replaced_after_an_accident_does_not_ask_the_supplier(covered):
    ask(covered, report(covered))
    warranty.take_film_off(
        vehicle=covered.car,
        panel="fender-left",
        on=TOLD,
        why="panel_replaced",
        by=covered.desk,
        now=noon(TOLD),
    )


def test_what_cannot_be_asked_or_answered(covered):
    claim = report(covered)
    with pytest.raises(Refused) as refusal:
        answer(covered, claim)
    assert codes(refusal) == {"superseded"}
    ask(covered, claim)
    for act, code in (
        (lambda: ask(covered, claim), "already_recorded"),
        (lambda: ask(covered, claim, by=SignedIn(covered.ines)), "not_allowed"),
        (lambda: answer(covered, claim, "perhaps"), "value_wrong"),
        (lambda: answer(covered, claim, note="x" * 301), "value_wrong"),
        (lambda: answer(covered, claim, by=Claimed(covered.dora)), "not_allowed"),
    ):
        with pytest.raises(Refused) as refusal:
            act()
        assert codes(refusal) == {code}
    answer(covered, claim)
    ask(covered, claim)
    assert claim.supplier_waits.count() == 2


def test_nobody_is_asked_about_film_that_is_off(covered):
    claim = report(covered)
    warranty.take_film_off(vehicle=covered.car, panel="fender-left", on=TOLD, by=covered.desk, now=noon(TOLD))
    with pytest.raises(Refused) as refusal:
        ask(covered, claim)
    assert codes(refusal) == {"superseded"}


# ------------------------------------------------------------------ decided


def test_a_decision_says_the_words_of_the_terms_the_paper_was_issued_under(covered):
    claim = report(covered)
    issued = models.Document.objects.in_force(covered.shop, "terms")
    body = issued.body | {"version": "2"}
    body["covered"] = [{"key": "edges", "text": {"en": "Other words altogether."}, "cover": "workmanship"}]
    models.Document.objects.create(
        workshop=covered.shop,
        kind="terms",
        name="builtin",
        version="2",
        body=body,
        digest="d" * 64,
        published_at=noon(TOLD),
    )
    row = decide(covered, claim)
    assert row.terms == issued and row.words.startswith("Edges, corners and seams that lift")
    assert (row.n, row.outcome, row.shop_pct, row.clause) == (1, "accept", 100, "covered.edges")
    body = body_of(row.entry)
    assert body["terms"]["digest"] == issued.digest and body["words"] == row.words
    assert "wet when" not in row.entry.body and "wet when" not in row.facts
    assert row.reason.value == "The glue was wet when the edge was pressed down."


def test_a_new_decision_stands_beside_the_old_one(covered):
    claim = report(covered)
    first = decide(covered, claim, "refuse", clause="excluded.washing")
    second = decide(covered, claim, "part", shop_pct=40, supplier_pct=35, customer_pct=25)
    assert [row.n for row in claim.decisions.order_by("n")] == [1, 2]
    assert page(claim).decision() == second
    first.refresh_from_db()
    assert first.outcome == "refuse" and waits(claim) == "repair"


@pytest.mark.parametrize(
    ("outcome", "more", "code"),
    [
        ("accept", {"clause": "covered.heroes"}, "value_wrong"),
        ("accept", {"clause": ""}, "value_wrong"),
        ("accept", {"reason": "  "}, "reason_missing"),
        ("accept", {"reason": "x" * 2001}, "value_wrong"),
        ("forgive", {"shop_pct": 100}, "value_wrong"),
        ("accept", {"shop_pct": 99}, "split_wrong"),
        ("accept", {"shop_pct": 101}, "split_wrong"),
        ("accept", {"shop_pct": 120, "supplier_pct": -20}, "split_wrong"),
        ("accept", {"shop_pct": 99.5, "supplier_pct": 0.5}, "split_wrong"),
        ("accept", {"shop_pct": True, "supplier_pct": 99}, "split_wrong"),
        ("accept", {"shop_pct": 90, "customer_pct": 10}, "split_wrong"),
        ("part", {"shop_pct": 100}, "split_wrong"),
        ("part", {"customer_pct": 100}, "split_wrong"),
        ("refuse", {"shop_pct": 50, "customer_pct": 50}, "split_wrong"),
        ("refuse", {"supplier_pct": 10, "customer_pct": 90}, "split_wrong"),
    ],
)
def test_a_decision_that_is_not_taken(covered, outcome, more, code):
    claim = report(covered)
    with pytest.raises(Refused) as refusal:
        decide(covered, claim, outcome, **more)
    assert codes(refusal) == {code}
    assert not models.Decision.objects.exists()


def test_an_insurer_may_bear_a_refused_one(covered):
    row = decide(covered, report(covered), "refuse", customer_pct=10, insurer_pct=90)
    assert (row.customer_pct, row.insurer_pct) == (10, 90)


def test_who_decides_proves_it(covered):
    claim = report(covered)
    for by, code in (
        (covered.desk, "not_allowed"),
        (Claimed(covered.dora), "not_allowed"),
        (Proven(covered.ines, "pin"), "not_allowed"),
        (Proven(covered.stranger().person, "pin"), "other_workshop"),
    ):
        with pytest.raises(Refused) as refusal:
            decide(covered, claim, by=by)
        assert codes(refusal) == {code}


def test_every_passage_of_the_terms_can_be_named(covered):
    terms = models.Document.objects.in_force(covered.shop, "terms").body
    found = clauses(terms, "en")
    keys = [clause.key for clause in found]
    assert len(keys) == len(set(keys)) and all(clause.words for clause in found)
    assert {"covered.edges", "excluded.shade", "cover.material", "again", "transfer"} <= set(keys)
    assert clauses(terms, "fi") == []


# ------------------------------------------------------------------ put right


def test_a_repair_lays_film_again_in_a_job_of_its_own(covered):
    claim, old = report(covered), covered.film("fender-left.1")
    decide(covered, claim)
    job = repair_job(covered)
    claim = link(covered, claim, job)
    new = covered.film("fender-left.1")
    assert (claim.repair_job, new.job, new.replaces, new.from_stage) == (job, job, old, "wash")
    assert waits(claim) == "release"
    assert models.Entry.objects.get(verb="link_repair").book.job == covered.job
    assert models.Entry.objects.get(verb="film_again").book.job == job


def test_an_edge_worked_again_keeps_the_film(covered):
    claim = report(covered)
    decide(covered, claim)
    link(covered, claim, from_stage="seal")
    assert covered.film("fender-left.1").roll == models.Roll.objects.get()


def test_two_claims_on_one_film_are_put_right_by_laying_it_once(covered):
    first, second = report(covered), report(covered, edge="lamp")
    job = repair_job(covered)
    for claim in (first, second):
        decide(covered, claim)
        link(covered, claim, job)
    assert models.Fitting.objects.filter(replaces__isnull=False).count() == 1
    assert {waits(first), waits(second)} == {"release"}


def test_what_is_not_repaired(covered):
    claim, job = report(covered), repair_job(covered)
    other_car = make.vehicle(covered.shop, vin="ZZZPP41L7TR041721")
    others = make.job(
        covered.shop, car=other_car, number="26-0099", plan=covered.job.plan, body=covered.job.body
    )
    with pytest.raises(Refused) as refusal:
        link(covered, claim, job)
    assert codes(refusal) == {"not_decided"}
    decide(covered, claim, "refuse")
    with pytest.raises(Refused) as refusal:
        link(covered, claim, job)
    assert codes(refusal) == {"not_decided"}
    decide(covered, claim)
    for wrong, code in (
        (others, "value_wrong"),
        (covered.job, "job_closed"),
        (make.job(make.workshop(name="Elsewhere")), "other_workshop"),
    ):
        with pytest.raises(Refused) as refusal:
            link(covered, claim, wrong)
        assert codes(refusal) == {code}
    with pytest.raises(Refused) as refusal:
        link(covered, claim, job, from_stage="cure")
    assert codes(refusal) == {"answer_unfit"}
    with pytest.raises(Refused) as refusal:
        link(covered, claim, job, by=SignedIn(covered.ines))
    assert codes(refusal) == {"not_allowed"}
    link(covered, claim, job)
    with pytest.raises(Refused) as refusal:
        link(covered, claim, job)
    assert codes(refusal) == {"already_recorded"}


def test_a_repair_called_off_leaves_the_claim_open_for_another(covered):
    claim, old = report(covered), covered.film("fender-left.1")
    decide(covered, claim)
    job = repair_job(covered)
    link(covered, claim, job)
    cancel_job(job=job, why="comes in spring", by=covered.desk, now=noon(TOLD))
    assert waits(claim) == "repair" and covered.film("fender-left.1") == old
    link(covered, claim, repair_job(covered, "26-0045"))
    assert waits(claim) == "release"


def test_where_the_film_is_gone_the_set_out_says_what_is_laid(covered):
    claim = report(covered)
    decide(covered, claim)
    warranty.take_film_off(vehicle=covered.car, panel="fender-left", on=TOLD, by=covered.desk, now=noon(TOLD))
    link(covered, claim)
    assert waits(claim) == "release"


# ------------------------------------------------------------------ what it waits for


def test_a_claim_says_what_it_waits_for(covered):
    claim = report(covered)
    assert waits(claim) == "photos"
    add(covered, claim, [photo(covered)], shot="ruler")
    assert waits(claim) == "glue_side"
    glue(covered, claim, photos=[photo(covered, "glue")])
    assert waits(claim) == "decision"
    decide(covered, claim, "refuse")
    assert waits(claim) == "refused"
    decide(covered, claim)
    assert waits(claim) == "repair"


def test_the_rows_keep_what_must_never_be_false(covered):
    claim = report(covered)
    row = decide(covered, claim)
    for rows, wrong in (
        (models.Claim.objects.filter(pk=claim.pk), {"told_on": NOTICED - days(1)}),
        (models.Decision.objects.filter(pk=row.pk), {"supplier_pct": 1}),
        (models.Decision.objects.filter(pk=row.pk), {"words": ""}),
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            rows.update(**wrong)
