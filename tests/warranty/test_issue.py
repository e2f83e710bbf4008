"""Issuing a certificate: what it freezes, what refuses it, what the book holds of it."""

import copy
import json
from datetime import timedelta

import pytest

from shop import models
from shop.people.identity import Claimed, Proven, SignedIn
from shop.reasons import Refused
from shop.record import chain
from shop.warranty import actions
from shop.warranty.shown import references
from tests import make, make_finished

pytestmark = pytest.mark.django_db

NOW = make_finished.HANDED_OVER + timedelta(minutes=10)
HOOD = (("hood", 1),)


@pytest.fixture
def done():
    return make_finished.finished_job(panels=HOOD, with_photos=False)


def issue(done, by=None, **rest):
    return actions.issue(job=done.job, by=by or Proven(done.dora, "pin"), now=NOW, **rest)


def codes(refused) -> list[str]:
    return [reason.code for reason in refused.value.reasons]


def test_facts_are_whole_numbers_texts_lists_and_tables():
    done = make_finished.finished_job()
    facts = json.loads(issue(done).facts)

    def look(value):
        assert value is None or type(value) in (dict, list, str, int, bool), value
        for inner in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
            look(inner)

    look(facts)


def test_what_is_stated(done):
    facts = json.loads(issue(done).facts)

    assert facts["number"] == "26-0001"
    assert facts["workshop"]["name"] == done.shop.name
    assert facts["workshop"]["address"] == done.shop.address
    assert facts["vehicle"]["last_four"] == make.VIN[-4:]
    [hood] = facts["panels"]
    [piece] = hood["pieces"]
    assert (hood["label"], hood["material"]) == ("Hood", "metal")
    assert (piece["lot"], piece["roll"]) == ("L-2209", "R-26-0001")
    assert piece["film"]["colour"] == "deep teal"
    assert piece["fitted_by"] == [done.ines.name, done.tom.name]
    assert piece["checked_by"] == done.marek.name
    assert piece["checked_by_installer"] is False
    front = next(edge for edge in piece["edges"] if edge["code"] == "front")
    assert front == {
        "code": "front",
        "label": "Front edge",
        "kind": "edge",
        "finish": "wrapped",
        "return_mm": 8,
    }
    assert facts["hand_over"]["on"] == "2026-03-03"
    assert {signing["meaning"] for signing in facts["signings"]} == {
        "Ready for film",
        "Hidden edges",
        "Laid and sealed",
        "Released",
    }
    released = next(s for s in facts["signings"] if s["meaning"] == "Released")
    assert released["name"] == done.marek.name
    assert released["at"] == "2026-03-03T14:00:00+01:00"
    assert released["signed"] == [{"stage": "Cure", "pieces": ["Hood"]}]


def test_values_about_the_customer_stand_by_reference_only(done):
    text = issue(done).facts
    for value in ("Ana Berg", make.VIN, "QS 12 ABC", make_finished.STROKES[:20]):
        assert value not in text
    rows = models.Private.objects.in_bulk(references(json.loads(text)))
    assert {row.value for row in rows.values()} == {"Ana Berg", make.VIN, "QS 12 ABC", make_finished.STROKES}
    facts = json.loads(text)
    assert facts["customer"]["name"]["commit"] == done.job.customer.name.commit


def test_photos_of_edges_name_their_places():
    done = make_finished.finished_job(panels=HOOD)
    facts = json.loads(issue(done).facts)
    edges = {
        place["edge"] for photo in facts["photos"] if photo["stage"] == "cure" for place in photo["places"]
    }
    assert edges == {edge["code"] for edge in facts["panels"][0]["pieces"][0]["edges"]}
    assert {photo["sha256"] for photo in facts["photos"]} <= {photo.sha256 for photo in done.photos}


def test_the_digest_is_that_of_the_canonical_facts(done):
    revision = issue(done)
    assert revision.facts_digest == chain.digest(json.loads(revision.facts))
    assert revision.facts.encode() == chain.canonical(json.loads(revision.facts))


def test_the_book_knows_the_facts_and_the_facts_know_the_book(done):
    book = models.Book.objects.get(job=done.job)
    revision = issue(done)
    assert (revision.head, revision.head_number) == (book.head, book.length)
    entry = revision.entry
    assert (entry.verb, entry.number, entry.previous) == ("issue", book.length + 1, book.head)
    assert json.loads(entry.body)["facts_digest"] == revision.facts_digest


def test_cover_lines_are_rows_too(done):
    revision = issue(done)
    stated = [
        (c["panel"], c["kind"], c["first_day"], c["last_day"]) for c in json.loads(revision.facts)["cover"]
    ]
    kept = [
        (line.panel, line.kind, line.first_day.isoformat(), line.last_day.isoformat())
        for line in models.CoverLine.objects.filter(revision=revision).order_by("pk")
    ]
    assert kept == stated
    assert [kind for _, kind, _, _ in kept] == ["material", "workmanship", "touch_up"]


def test_numbers_count_up_within_the_year_of_the_workshop(done):
    second = make_finished.finished_job(
        done.shop, number="26-0002", car=make.vehicle(done.shop, vin="1M8GDM9AXKP042788"), panels=HOOD
    )
    assert issue(done).certificate.number == "26-0001"
    assert issue(second).certificate.number == "26-0002"


def test_the_year_turns_on_the_workshops_clock(done):
    # 23:30 UTC on New Year's Eve is the next year in Madrid.
    late = NOW.replace(year=2026, month=12, day=31, hour=23, minute=30)
    revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=late)
    assert revision.certificate.number == "27-0001"


def test_another_workshop_counts_for_itself(done):
    issue(done)
    other = make_finished.finished_job(make.workshop(name="Other Works"), panels=HOOD, with_photos=False)
    assert issue(other).certificate.number == "26-0001"


def test_the_token_fits_an_alphanumeric_qr(done):
    certificate = issue(done).certificate
    assert len(certificate.token) * 5 >= 128
    assert set(certificate.token) <= set("0123456789ABCDEFGHJKMNPQRSTVWXYZ")


def test_the_number_becomes_a_search_key(done):
    issue(done)
    assert models.SearchKey.objects.filter(
        kind="certificate", key="260001", vehicle=done.job.vehicle
    ).exists()


def test_once_only(done):
    issue(done)
    with pytest.raises(Refused) as refused:
        issue(done)
    assert codes(refused) == ["already_issued"]
    assert models.Revision.objects.count() == 1


@pytest.mark.parametrize("how", [Claimed, SignedIn])
def test_a_name_or_a_session_is_not_enough(done, how):
    with pytest.raises(Refused) as refused:
        issue(done, how(done.dora))
    assert codes(refused) == ["not_allowed"]
    assert not models.Certificate.objects.exists()


@pytest.mark.parametrize("who", ["ines", "marek"])
def test_the_floor_does_not_issue(done, who):
    with pytest.raises(Refused) as refused:
        issue(done, Proven(getattr(done, who), "pin"))
    assert codes(refused) == ["not_allowed"]


def test_nobody_issues_for_another_workshop(done):
    otto = make.person(make.workshop(name="Other Works"), "Otto", "owner")
    with pytest.raises(Refused) as refused:
        issue(done, Proven(otto, "pin"))
    assert codes(refused) == ["other_workshop"]


def test_not_before_hand_over():
    done = make_finished.finished_job(panels=HOOD, with_photos=False, handed_over=None)
    with pytest.raises(Refused) as refused:
        issue(done)
    assert "not_handed_over" in codes(refused)
    assert not models.Certificate.objects.exists()


def test_not_while_a_piece_is_unreleased(done):
    models.SignOff.objects.filter(meaning="released").update(
        replaced_by=models.Entry.objects.order_by("pk").last()
    )
    with pytest.raises(Refused) as refused:
        issue(done)
    assert codes(refused) == ["not_released"]


def test_not_with_an_open_defect(done):
    fitting = models.Fitting.objects.get(job=done.job)
    models.Defect.objects.create(
        fitting=fitting, kind="lifted_edge", found_at="cure", raised_by=done.marek, raised_at=NOW
    )
    with pytest.raises(Refused) as refused:
        issue(done)
    assert codes(refused) == ["defect_open"]


def without(body: dict, path: str) -> dict:
    """The terms without one of their parts."""
    body = copy.deepcopy(body)
    *way, last = path.split(".")
    inner = body
    for step in way:
        inner = inner[step]
    del inner[last]
    return body


# The common checklist: 16 CFR 701.3 (a), Directive (EU) 2019/771 Art. 17, Consumer Rights Act 2015 s.30.
CHECKLIST = [
    "heading",
    "cover.material.months",
    "cover.workmanship.months",
    "cover.touch_up.days",
    "starts",
    "territory",
    "covered",
    "excluded",
    "remedy",
    "claim",
    "statutory",
    "transfer",
    "counting",
    "place.eu.seller",
]


@pytest.mark.parametrize("path", CHECKLIST)
def test_terms_with_a_gap_are_refused_by_name(done, path):
    terms = models.Document.objects.in_force(done.shop, "terms")
    models.Document.objects.filter(pk=terms.pk).update(body=without(terms.body, path))
    with pytest.raises(Refused) as refused:
        issue(done)
    assert set(codes(refused)) == {"terms_incomplete"}
    assert not models.Certificate.objects.exists()


def test_every_gap_is_named_at_once(done):
    terms = models.Document.objects.in_force(done.shop, "terms")
    body = without(without(without(terms.body, "territory"), "transfer"), "statutory")
    models.Document.objects.filter(pk=terms.pk).update(body=body)
    models.Workshop.objects.filter(pk=done.shop.pk).update(address=" ")
    done.job = models.Job.objects.get(pk=done.job.pk)
    with pytest.raises(Refused) as refused:
        issue(done)
    text = " ".join(reason.text for reason in refused.value.reasons)
    for word in ("where the cover holds", "when the car is sold", "rights by law", "postal address"):
        assert word in text
    assert set(codes(refused)) == {"terms_incomplete"}


def test_without_terms_there_is_no_certificate(done):
    models.Document.objects.filter(kind="terms").update(retired_at=NOW)
    with pytest.raises(Refused) as refused:
        issue(done)
    assert codes(refused) == ["terms_incomplete"]


def test_a_language_without_words_is_a_gap(done):
    with pytest.raises(Refused) as refused:
        issue(done, language="pl")
    assert set(codes(refused)) == {"terms_incomplete"}


def test_self_release_is_said(settings):
    shop = make.workshop(self_release=True)
    done = make_finished.finished_job(shop, panels=HOOD, with_photos=False, checked_by_installer=True)
    facts = json.loads(issue(done).facts)
    assert facts["panels"][0]["pieces"][0]["checked_by_installer"] is True
    assert facts["release"]["by_installer"] is True


def test_what_the_customer_accepted_is_said(done):
    panel = models.Panel.objects.get(vehicle=done.job.vehicle, code="hood")
    models.PaintNote.objects.create(job=done.job, panel=panel, kind="fresh", made_at=make.NOW)
    models.Consent.objects.create(
        job=done.job,
        kind="paint",
        panel=panel,
        text="I know.",
        strokes=make_finished.keep_private(done.shop, make_finished.STROKES),
        given_at=make.NOW,
    )
    facts = json.loads(issue(done).facts)
    assert facts["known"] == [
        {"place": "hood.1", "text": "Hood: fresh paint, accepted by the customer in writing"}
    ]
