"""Claims at the desk, through their pages: what is shown, typed, refused, and sent twice."""

import re
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop import clock, models, press, store
from shop.photos.models import Photo
from tests import make
from tests.claims.test_claims import NOTICED, TOLD, ask, decide, link, repair_job, report
from tests.claims.test_claims import photo as kept_photo
from tests.make_covered import noon, with_passwords
from tests.photos.pictures import jpeg

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_the_desk():
    with clock.held_at(noon(TOLD)):
        yield


@pytest.fixture
def covered():
    return with_passwords()


@pytest.fixture
def desk(covered):
    return signed_in(covered.dora)


def signed_in(person) -> Client:
    client = Client()
    client.force_login(person.user)
    return client


def key(**rest):
    return {"key": str(uuid.uuid4()), **rest}


def typed(**rest):
    values = {
        "place": "fender-left.1@arch",
        "symptom": "lifted_edge",
        "noticed_on": NOTICED.isoformat(),
        "told_on": TOLD.isoformat(),
        "told_how": "phone",
        "caller": "It lifts behind the wheel.",
    }
    return key(**(values | rest))


def file(seed=1, name="lift.jpg"):
    return SimpleUploadedFile(name, jpeg(seed=seed), "image/jpeg")


def new(covered):
    return f"/claims/new/?vehicle={covered.car.pk}"


# ------------------------------------------------------------------ the list


def test_an_empty_list_says_what_to_do(desk):
    assert "No claim is open" in desk.get("/claims/").text


def test_the_list_says_what_each_waits_for_and_parts_the_closed_ones(covered, desk):
    first, second, third = report(covered), report(covered, edge="lamp"), report(covered, edge="top")
    ask(covered, second)
    decide(covered, third, "refuse")
    text = desk.get("/claims/").text
    assert re.findall(r'data-waits="(\w+)"', text) == ["photos", "supplier", "refused"]
    assert "answer due 2 December 2026" in text and "The supplier: leave it on" in text
    assert text.index(first.number) < text.index("Closed") < text.rindex(third.number)


def test_the_list_asks_as_often_for_many_claims_as_for_few(covered, desk):
    report(covered)
    with CaptureQueriesContext(connection) as one:
        desk.get("/claims/")
    for symptom in ("peeling", "cracking", "staining", "lines"):
        report(covered, symptom=symptom)
    with CaptureQueriesContext(connection) as many:
        desk.get("/claims/")
    assert len(many) == len(one)


def test_another_workshop_sees_none_of_it(covered):
    other = make.person(make.workshop(name="Elsewhere"), "Otto", "owner", "desk", password="harbour lights 7")
    claim = report(covered)
    otto = signed_in(other)
    assert "No claim is open" in otto.get("/claims/").text
    for address in (
        "",
        "photos/",
        "glue-side/",
        "supplier/",
        "decide/",
        "repair/",
        "letter/1/",
        "letter/1.pdf",
    ):
        assert otto.get(f"/claims/{claim.pk}/{address}").status_code == 404, address
    assert otto.get(new(covered)).status_code == 404


# ------------------------------------------------------------------ a new one


def test_without_a_car_the_page_asks_for_one(desk):
    assert "Which car?" in desk.get("/claims/new/").text
    assert desk.get("/claims/new/?vehicle=77777").status_code == 404
    assert "Which car?" in desk.get("/claims/new/?vehicle=none").text


def test_the_first_words_and_every_edge_are_there(covered, desk):
    text = desk.get(new(covered)).text
    assert "do not press, peel or heat the film" in text and "with a ruler" in text
    assert 'value="fender-left.1@arch"' in text and 'value="hood.1"' in text
    one = desk.get(new(covered) + "&panel=hood").text
    assert 'value="fender-left.1@arch"' not in one and 'value="hood.1@front"' in one


def test_a_car_without_our_film_has_nothing_to_claim(covered, desk):
    other = make.vehicle(covered.shop, vin="ZZZPP41L7TR041721")
    assert "No film of ours" in desk.get(f"/claims/new/?vehicle={other.pk}").text


def test_a_call_is_taken_down_with_its_photos(covered, desk):
    answer = desk.post(new(covered), typed(photos=[file(1), file(2)]))
    claim = models.Claim.objects.get()
    assert (answer.status_code, answer["Location"]) == (302, f"/claims/{claim.pk}/")
    assert claim.photos.count() == 2 and claim.said.value == "It lifts behind the wheel."
    assert (claim.edge.code, claim.noticed_on, claim.told_on) == ("arch", NOTICED, TOLD)


def test_sent_twice_it_is_one_claim(covered, desk):
    same = typed()
    first = desk.post(new(covered), same | {"photos": [file(1)]})
    second = desk.post(new(covered), same | {"photos": [file(1)]})
    assert first["Location"] == second["Location"]
    assert models.Claim.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"place": ""}, "Choose where on the car it is."),
        ({"place": "roof.1@front"}, "Pick one of the list."),
        ({"symptom": ""}, "Choose what it looks like."),
        ({"noticed_on": "yesterday"}, "year-month-day"),
        ({"told_how": "pigeon"}, "Pick one of the list."),
        ({"caller": "x" * 2001}, "At most 2000 characters"),
        ({"key": "old"}, "This page is too old"),
    ],
    ids=str,
)
def test_what_is_typed_wrong_stays_and_is_said(covered, desk, change, said):
    answer = desk.post(new(covered), typed(**change))
    assert answer.status_code == 422 and said in answer.text
    assert "It lifts behind the wheel." in answer.text or "caller" in change
    assert not models.Claim.objects.exists()


def test_a_file_that_is_no_photo_refuses_the_whole(covered, desk):
    bad = SimpleUploadedFile("lift.jpg", b"not a picture", "image/jpeg")
    answer = desk.post(new(covered), typed(photos=[file(1), bad]))
    assert answer.status_code == 422 and not models.Claim.objects.exists()
    assert not Photo.objects.filter(claims__isnull=False).exists()


def test_more_photos_than_fit_are_said(covered, desk):
    answer = desk.post(new(covered), typed(photos=[file(seed) for seed in range(9)]))
    assert answer.status_code == 422 and "At most 8 photos at once" in answer.text


def test_what_the_verb_refuses_is_shown_at_its_field(covered, desk):
    answer = desk.post(new(covered), typed(noticed_on="2026-11-19"))
    assert answer.status_code == 409 and 'data-reason="day_wrong"' in answer.text
    assert not models.Claim.objects.exists()


def test_an_installer_takes_no_call_down(covered):
    ines = signed_in(covered.ines)
    assert ines.get(new(covered)).status_code == 403
    assert ines.post(new(covered), typed()).status_code == 403
    assert ines.get("/claims/").status_code == 200


# ------------------------------------------------------------------ one whole


def test_left_what_is_reported_right_what_the_record_says():
    covered = with_passwords(with_photos=True)
    claim = report(covered, said="It lifts.", photos=[kept_photo(covered)])
    text = signed_in(covered.dora).get(f"/claims/{claim.pk}/").text
    for said in (
        "Left fender, wheel arch: edge lifts",
        "It lifts.",
        "16 November 2026, 8 months after hand-over.",
        "What the record says",
        "Marek Dudek, 3 March 2026, 14:00, a second person.",
        "In force, and about this.",
        "A missed recheck weakens the presumption; the cover stands.",
        "answer due",
        "A picture of the glue side is still missing.",
    ):
        assert said in text, said
    entry = claim.entry.number
    assert f'/cars/{covered.job.pk}/book/?print=1#entry-{entry}"' in text
    assert "data-compare-then" in text and "data-compare-now" in text and "js/compare.js" in text


def test_the_photos_compared_can_be_chosen(covered, desk):
    claim = report(covered, photos=[kept_photo(covered, "one"), kept_photo(covered, "two")])
    second = claim.photos.order_by("pk").last().photo.pk
    text = desk.get(f"/claims/{claim.pk}/?now={second}&then=999999").text
    assert re.search(rf'/photos/{second}/screen"[^>]*data-compare-now', text)


def test_a_claim_without_photos_says_so(covered, desk):
    text = desk.get(f"/claims/{report(covered).pk}/").text
    assert "No photo of this place was taken then." in text and "Ask for one with a ruler" in text


def test_what_was_erased_is_said_to_be(covered, desk):
    claim = report(covered, said="It lifts.")
    models.Private.objects.filter(pk=claim.said_id).update(value="", salt="", erased_at=noon(TOLD))
    text = desk.get(f"/claims/{claim.pk}/").text
    assert "erased" in text and "It lifts." not in text


def test_whoever_may_not_decide_is_not_offered_it(covered):
    claim = report(covered)
    text = signed_in(covered.marek).get(f"/claims/{claim.pk}/").text
    assert "/glue-side/" in text and "/decide/" not in text and "/supplier/" not in text


# ------------------------------------------------------------------ its acts


def test_photos_and_the_glue_side_are_kept(covered, desk):
    claim = report(covered)
    here = f"/claims/{claim.pk}/"
    assert "Straight on, the ruler lying along the edge" in desk.get(here + "photos/").text
    sent = key(shot="ruler", photos=[file(3)])
    assert desk.post(here + "photos/", sent).status_code == 302
    assert claim.photos.get().shot == "ruler"
    assert "Tension, or the edge was wet" in desk.get(here + "glue-side/").text
    answer = desk.post(here + "glue-side/", key(reading="shiny"))
    assert answer.status_code == 409 and 'data-reason="photo_missing"' in answer.text
    answer = desk.post(here + "glue-side/", key(reading="shiny", photos=[file(4)], note="over 6 cm"))
    assert answer.status_code == 302
    assert "provisional until it is decided" in desk.get(here).text


def test_nothing_chosen_is_no_photo(covered, desk):
    answer = desk.post(f"/claims/{report(covered).pk}/photos/", key(shot=""))
    assert answer.status_code == 422 and "Choose at least one photo." in answer.text


def test_the_supplier_is_asked_and_answers(covered, desk):
    claim = report(covered)
    here = f"/claims/{claim.pk}/supplier/"
    assert "Ask the supplier" in desk.get(here).text
    assert desk.post(here, key(asked="May we strip it?")).status_code == 302
    assert "leave it on" in desk.get(f"/claims/{claim.pk}/").text
    assert desk.post(here, key(answer="", note="")).status_code == 422
    assert desk.post(here, key(answer="agreed", note="")).status_code == 302
    assert claim.supplier_waits.get().answer == "agreed"


def decision(**rest):
    values = {
        "outcome": "accept",
        "clause": "covered.edges",
        "reason": "The edge was wet.",
        "shop_pct": "100",
        "supplier_pct": "",
        "customer_pct": "0",
        "insurer_pct": "",
        "pin": make.PIN,
    }
    return key(**(values | rest))


def test_a_decision_is_taken_with_a_pin_and_its_letter_printed(covered, desk, monkeypatch):
    monkeypatch.setattr(press, "run", lambda work, put, **rest: b"%PDF-1.7 " + put.mark.encode())
    claim = report(covered)
    here = f"/claims/{claim.pk}/"
    text = desk.get(here + "decide/").text
    assert "Edges, corners and seams that lift" in text and 'value="100"' in text
    assert desk.post(here + "decide/", decision()).status_code == 302
    row = models.Decision.objects.get()
    assert (row.person, row.shop_pct, row.supplier_pct) == (covered.dora, 100, 0)
    pdf = desk.get(here + "letter/1.pdf")
    assert pdf["Content-Type"] == "application/pdf" and pdf.content == store.open_pdf(row.pdf_sha256)
    assert "The edge was wet." in desk.get(here).text


@pytest.mark.parametrize(
    ("change", "status", "said"),
    [
        ({"pin": "000001"}, 409, 'data-reason="pin_wrong"'),
        ({"pin": ""}, 422, "Type your PIN"),
        ({"reason": ""}, 422, "Say why: the customer reads it in the letter."),
        ({"clause": ""}, 422, "Choose the words of the terms"),
        ({"outcome": ""}, 422, "Say what is decided."),
        ({"shop_pct": "half"}, 422, "A share is a whole number of per cent."),
        ({"shop_pct": "90"}, 409, "The shares make 90 per cent"),
        ({"outcome": "refuse"}, 409, 'data-reason="split_wrong"'),
    ],
    ids=str,
)
def test_a_decision_that_is_not_taken_keeps_what_was_typed(covered, desk, change, status, said):
    claim = report(covered)
    answer = desk.post(f"/claims/{claim.pk}/decide/", decision(**change))
    assert answer.status_code == status and said in answer.text
    assert "The edge was wet." in answer.text or "reason" in change
    assert not models.Decision.objects.exists()


def test_a_letter_that_was_not_printed_can_be_printed_again(covered, desk, monkeypatch):
    def dies(*args, **kwargs):
        raise press.PressFailed("stopped")

    claim = report(covered)
    here = f"/claims/{claim.pk}/"
    with monkeypatch.context() as broken:
        broken.setattr(press, "run", dies)
        answer = desk.post(here + "decide/", decision(), follow=True)
    assert "not printed yet" in answer.text
    assert desk.get(here + "letter/1.pdf").status_code == 404
    monkeypatch.setattr(press, "run", lambda work, put, **rest: b"%PDF-1.7 " + put.mark.encode())
    assert "is not printed yet" in desk.get(here + "letter/1/").text
    assert desk.post(here + "letter/1/", key()).status_code == 302
    assert desk.get(here + "letter/1.pdf").status_code == 200
    assert desk.get(here + "letter/9/").status_code == 404


def test_the_repair_waits_for_the_car_and_then_goes_to_its_set_out(covered, desk):
    claim = report(covered)
    decide(covered, claim)
    here = f"/claims/{claim.pk}/repair/"
    assert "The car is not here" in desk.get(here).text
    job = repair_job(covered)
    assert job.number in desk.get(here).text
    answer = desk.post(here, key(job=job.pk, from_stage="wash"))
    assert (answer.status_code, answer["Location"]) == (302, f"/cars/{job.pk}/set-out/fender-left/")
    assert desk.get(answer["Location"]).status_code == 200
    assert "Put right when job" in desk.get(f"/claims/{claim.pk}/").text


def test_a_repair_before_the_decision_is_refused(covered, desk):
    claim = report(covered)
    job = repair_job(covered)
    answer = desk.post(f"/claims/{claim.pk}/repair/", key(job=job.pk, from_stage="wash"))
    assert answer.status_code == 409 and 'data-reason="not_decided"' in answer.text


@pytest.mark.parametrize("where", ["decide/", "supplier/", "repair/"])
def test_only_desk_and_owner_open_what_decides(covered, where):
    claim = report(covered)
    here = f"/claims/{claim.pk}/{where}"
    assert signed_in(covered.ines).get(here).status_code == 403
    assert signed_in(covered.petra).get(here).status_code == 200
    assert Client().get(here).status_code == 302


def test_a_refused_sending_moves_nothing(covered, desk):
    claim = report(covered)
    before = {model: model.objects.count() for model in (models.Entry, models.Decision, models.Photo)}
    for where in ("photos/", "glue-side/", "supplier/", "decide/", "repair/", "letter/1/"):
        for sent in ({}, {"key": "x"}, key(pin="000000", reason="\0", answer="x", note="y" * 400)):
            assert desk.post(f"/claims/{claim.pk}/{where}", sent).status_code in (302, 404, 409, 422)
    ask_row = models.SupplierWait.objects.filter(asked="")
    after = {model: model.objects.count() for model in before}
    # Asking the supplier needs nothing typed, so the one well-formed sending asked.
    assert after[models.Decision] == before[models.Decision] == 0
    assert after[models.Photo] == before[models.Photo]
    assert after[models.Entry] - before[models.Entry] == ask_row.count() <= 1


def test_a_claim_put_right_says_so(covered, desk):
    claim = report(covered)
    decide(covered, claim)
    job = repair_job(covered)
    link(covered, claim, job)
    entry = models.Entry.objects.latest("pk")
    film = models.Fitting.objects.live().get(job=job)
    signing = models.Signing.objects.create(
        entry=entry,
        person=covered.marek,
        meaning="released",
        language="en",
        sentence="Sound.",
        lines={},
        digest="0" * 64,
        at=noon(TOLD),
    )
    models.SignOff.objects.create(
        signing=signing, checklist=film.checklists.get(stage="cure"), meaning="released"
    )
    models.Release.objects.create(entry=entry, job=job, person=covered.marek, at=noon(TOLD))
    text = desk.get(f"/claims/{claim.pk}/").text
    assert "Put right" in text and 'data-waits="put_right"' in text
