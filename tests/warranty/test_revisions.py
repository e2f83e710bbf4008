"""Corrections and withdrawal: the old stays readable, the new takes its place."""

import json
from datetime import timedelta

import pytest

from shop import models
from shop.people.identity import Proven, SignedIn
from shop.reasons import Refused
from shop.warranty import actions
from tests import make_finished

pytestmark = pytest.mark.django_db

NOW = make_finished.HANDED_OVER + timedelta(minutes=10)
LATER = NOW + timedelta(days=3)


@pytest.fixture
def done():
    return make_finished.finished_job(panels=(("hood", 1),), with_photos=False)


@pytest.fixture
def first(done):
    return actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)


def correct(done, first, reason="The colour was wrong.", by=None):
    return actions.correct(
        certificate=first.certificate, reason=reason, by=by or Proven(done.dora, "pin"), now=LATER
    )


def test_a_correction_is_a_next_revision(done, first):
    before = first.facts
    models.Vehicle.objects.filter(pk=done.job.vehicle_id).update(colour="dark grey")
    second = correct(done, first)
    facts = json.loads(second.facts)
    assert (second.n, facts["revision"], facts["number"]) == (2, 2, first.certificate.number)
    assert facts["vehicle"]["colour"] == "dark grey"
    assert facts["reason"] == "The colour was wrong."
    assert models.Revision.objects.get(pk=first.pk).facts == before
    assert first.certificate.current() == second


def test_cover_still_starts_on_the_day_of_hand_over(done, first):
    second = correct(done, first)
    days = {(line.first_day, line.last_day) for line in models.CoverLine.objects.filter(revision=first)}
    assert {
        (line.first_day, line.last_day) for line in models.CoverLine.objects.filter(revision=second)
    } == days


def test_it_keeps_the_terms_of_the_paper_it_corrects(done, first):
    old = first.terms
    old.retired_at = LATER
    old.save()
    body = old.body | {"version": "2"}
    body["cover"]["material"]["months"] = 12
    models.Document.objects.create(
        workshop=done.shop,
        kind="terms",
        name="builtin",
        version="2",
        body=body,
        digest="2" * 64,
        published_at=LATER,
    )
    second = correct(done, first)
    assert second.terms == old
    assert {line.last_day for line in models.CoverLine.objects.filter(revision=second, kind="material")} == {
        line.last_day for line in models.CoverLine.objects.filter(revision=first, kind="material")
    }


def test_the_book_says_what_was_corrected(done, first):
    entry = correct(done, first).entry
    assert entry.verb == "correct_certificate"
    assert json.loads(entry.body)["reason"] == "The colour was wrong."
    assert entry.number == first.entry.number + 1


@pytest.mark.parametrize("reason", ["", "   ", "x" * 301])
def test_a_correction_says_what_it_corrects(done, first, reason):
    with pytest.raises(Refused) as refused:
        correct(done, first, reason)
    assert [r.code for r in refused.value.reasons] == ["reason_missing"]
    assert models.Revision.objects.count() == 1


def test_who_may_correct(done, first):
    for by in (SignedIn(done.dora), Proven(done.ines, "pin"), Proven(done.marek, "pin")):
        with pytest.raises(Refused):
            correct(done, first, by=by)


def test_withdrawing(done, first):
    actions.withdraw(
        certificate=first.certificate, why="Never paid.", by=Proven(done.petra, "pin"), now=LATER
    )
    revision = models.Revision.objects.get(pk=first.pk)
    assert (revision.withdrawn_at, revision.withdrawn_why) == (LATER, "Never paid.")
    entry = models.Entry.objects.filter(book__job=done.job).order_by("number").last()
    assert (entry.verb, json.loads(entry.body)["why"]) == ("withdraw", "Never paid.")


def test_withdrawn_is_withdrawn(done, first):
    owner = Proven(done.petra, "pin")
    actions.withdraw(certificate=first.certificate, why="Never paid.", by=owner, now=LATER)
    with pytest.raises(Refused) as refused:
        actions.withdraw(certificate=first.certificate, why="Again.", by=owner, now=LATER)
    assert [r.code for r in refused.value.reasons] == ["certificate_withdrawn"]
    with pytest.raises(Refused) as refused:
        correct(done, first)
    assert [r.code for r in refused.value.reasons] == ["certificate_withdrawn"]
    with pytest.raises(Refused) as refused:
        actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=LATER)
    assert "already_issued" in [r.code for r in refused.value.reasons]


def test_only_the_owner_withdraws(done, first):
    with pytest.raises(Refused) as refused:
        actions.withdraw(certificate=first.certificate, why="No.", by=Proven(done.dora, "pin"), now=LATER)
    assert [r.code for r in refused.value.reasons] == ["not_allowed"]


def test_cover_lines_cannot_be_changed_behind_our_back(first):
    from django.db import DatabaseError, transaction

    with pytest.raises(DatabaseError), transaction.atomic():
        models.CoverLine.objects.filter(revision=first).update(last_day="2099-01-01")
