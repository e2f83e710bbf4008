"""One claim whole, by the verbs: a mirror cap filmed for real, a lift two years on, the repair, its release."""

import json
from datetime import date, timedelta

import pytest

from shop import models
from shop.claims import actions as claims
from shop.claims.judging import judge, waits_for
from shop.intake import actions as intake
from shop.people.identity import Proven, SignedIn
from shop.record.actions import keep_private
from shop.warranty import actions as warranty
from shop.warranty.cover import cover_of
from shop.warranty.timeline import covered_on
from shop.work import actions
from tests import make
from tests.kept import kept
from tests.work.day import Day

pytestmark = pytest.mark.django_db
STROKES = [[[1, 1], [900, 300]]]


def to_release(day):
    day.finish("wash", "decontaminate", "degrease", "primer")
    day.sign("ready")
    day.lay("mirror-left.1")
    day.pass_time(hours=1)
    day.finish("cure", but="cure.edge_round")
    day.pass_time(hours=49)
    day.finish("cure")
    day.sign("released")


def handed_over(day):
    by = Proven(day.petra, "pin")
    actions.hand_over(
        job=day.job, on=day.now.date(), strokes=STROKES, text="I have my car back.", by=by, now=day.now
    )
    revision = warranty.issue(job=models.Job.objects.get(pk=day.job.pk), by=by, now=day.tick_clock())
    return day.now.date(), revision


def page(claim):
    return models.Claim.objects.for_page().get(pk=claim.pk)


def waits(claim):
    claim = page(claim)
    return waits_for(claim, list(claim.photos.all()), list(claim.glue_readings.all()))


def test_from_the_call_to_the_released_repair():
    day = kept(Day)
    make.document(day.shop, "terms", "terms/builtin.toml")
    models.Ownership.objects.create(vehicle=day.job.vehicle, customer=day.job.customer, since=day.now.date())
    day.job.vehicle.vin_private = keep_private(day.shop, day.job.vehicle.vin)
    day.job.vehicle.save()
    car, desk = day.job.vehicle, SignedIn(day.petra)
    day.set_out("mirror-left")
    to_release(day)
    first_day, _ = handed_over(day)
    old = models.Fitting.objects.get()

    # The call, 30 months on: noticed on one day, told on another.
    day.now += timedelta(days=920)
    noticed = day.now.date() - timedelta(days=3)
    claim = claims.report_claim(
        vehicle=car,
        panel="mirror-left.1",
        edge="foot",
        symptom="lifted_edge",
        noticed_on=noticed,
        said="It stands off at the foot.",
        by=desk,
        now=day.now,
    )
    assert (claim.fitting, claim.line.kind, waits(claim)) == (old, "material", "photos")
    found = judge(page(claim), now=day.now).standing
    assert found.stands and found.weakened and not found.presumed

    claims.add_claim_photos(claim=claim, photos=[day.photo()], shot="ruler", by=desk, now=day.tick_clock())
    assert waits(claim) == "glue_side"
    claims.add_glue_side(
        claim=claim, reading="shiny", photos=[day.photo()], by=SignedIn(day.marek), now=day.tick_clock()
    )
    claims.wait_for_supplier(claim=claim, asked="May we strip it?", by=desk, now=day.tick_clock())
    assert waits(claim) == "supplier"
    claims.supplier_answered(claim=claim, answer="agreed", by=desk, now=day.tick_clock())
    assert waits(claim) == "decision"
    claims.decide(
        claim=claim,
        outcome="accept",
        clause="covered.peeling",
        reason="The film let go at the foot although it was sound elsewhere.",
        shop_pct=30,
        supplier_pct=70,
        by=Proven(day.petra, "pin"),
        now=day.tick_clock(),
    )
    assert waits(claim) == "repair"

    # The car comes back, and new film takes the place of the old.
    models.Roll.objects.update(expires_on=date(2030, 1, 1))
    day.job = intake.take_in(
        workshop=day.shop,
        name="Ana Berg",
        vin=car.vin,
        model=car.model,
        colour=car.colour,
        odometer_km=90_000,
        by=desk,
        now=day.tick_clock(),
    )
    claims.link_repair(claim=claim, job=day.job, by=desk, now=day.tick_clock())
    assert waits(claim) == "release"
    day.set_out("mirror-left")
    new = models.Fitting.objects.live().get()
    assert new.replaces == old
    to_release(day)
    assert waits(claim) == "put_right"

    # Cover goes on with what was left of it, under the first paper and under the repair's own.
    back, revision = handed_over(day)
    cover = cover_of(car, today=back)
    there = covered_on(back, cover.at("mirror-left", 1))
    first = models.CoverLine.objects.get(revision__n=1, revision__certificate__job=old.job, kind="material")
    assert [(s.film, s.kind, s.last_day) for s in there] == [(new.pk, "material", first.last_day)]
    assert [(line["kind"], line["last_day"]) for line in json.loads(revision.facts)["cover"]] == [
        ("material", first.last_day.isoformat())
    ]
    assert first.first_day == first_day
    verbs = [entry.verb for entry in models.Entry.objects.filter(verb__in=STEPS).order_by("pk")]
    assert verbs == STEPS
    number = claim.number
    entries = models.Entry.objects.filter(verb__in=STEPS).exclude(verb="film_again")
    assert all(f'"claim":"{number}"' in entry.body for entry in entries)


STEPS = [
    "report_claim",
    "add_claim_photos",
    "add_glue_side",
    "wait_for_supplier",
    "supplier_answered",
    "decide",
    "film_again",
    "link_repair",
]
