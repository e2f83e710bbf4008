"""The letter of a decision: what it states, that it stays as it was, and that it prints."""

import json
import subprocess
from datetime import date

import pytest
from django.template.loader import render_to_string

from shop import models, press, store
from shop.claims import actions, letter
from shop.people.identity import Proven
from shop.record import chain
from shop.record.actions import keep_private
from tests.make_covered import Covered, noon

pytestmark = pytest.mark.django_db
NOTICED, TOLD = date(2026, 11, 16), date(2026, 11, 18)


def decided(covered, outcome="part", **more):
    claim = actions.report_claim(
        vehicle=covered.car,
        panel="fender-left.1",
        edge="arch",
        symptom="lifted_edge",
        noticed_on=NOTICED,
        told_on=TOLD,
        said="My neighbour saw it first.",
        by=covered.desk,
        now=noon(TOLD),
    )
    shares = {
        "part": {"shop_pct": 40, "supplier_pct": 35, "customer_pct": 25},
        "accept": {"shop_pct": 100},
        "refuse": {"customer_pct": 100},
    }[outcome]
    return actions.decide(
        claim=models.Claim.objects.for_page().get(pk=claim.pk),
        outcome=outcome,
        clause="covered.edges",
        reason="Ana Berg washed it after two days.\nThe edge was still wet.",
        by=Proven(covered.dora, "pin"),
        now=noon(TOLD),
        **(shares | more),
    )


def text(decision) -> str:
    return " ".join(render_to_string("claims/letter.html", letter.shown(decision)).split())


def test_it_says_what_was_decided_and_what_it_rests_on():
    page = text(decided(Covered()))
    for said in (
        "Claim 26-0001: accepted in part",
        "Left fender, wheel arch: edge lifts.",
        "16 November 2026",
        "18 November 2026",
        "On the day it was noticed, the cover for our work was in force.",
        "A recheck was missed. That makes it harder to tell how a fault began; it ends no cover.",
        "Built-in terms, version 1, under which the certificate was issued:",
        "Edges, corners and seams that lift",
        "workshop 40 %, supplier 35 %, you 25 %",
        "Ana Berg washed it after two days.<br>The edge was still wet.",
        "do not press, peel or heat the film",
    ):
        assert said in page, said
    assert "My neighbour" not in page


def test_every_letter_tells_of_the_rights_by_law():
    statutory = "You have rights by law besides this warranty"
    for outcome in ("accept", "part", "refuse"):
        assert statutory in text(decided(Covered(), outcome))


@pytest.mark.parametrize(
    ("country", "said"),
    [
        (
            "US",
            "This warranty gives you specific legal rights, and you may also have other rights which vary",
        ),
        ("DE", "the law entitles you to remedies from the seller free of charge"),
        ("GB", "Ask us, and you get this warranty in writing"),
    ],
)
def test_the_place_adds_its_own_sentence(country, said):
    covered = Covered()
    models.Workshop.objects.update(country=country)
    assert said in text(decided(covered, "refuse"))


def test_a_refusal_says_how_to_be_heard_again_and_asks_for_no_patience():
    page = text(decided(Covered(), "refuse"))
    assert "we look again" in page and "We agree on a day" not in page


def test_why_nothing_was_in_force_is_said():
    covered = Covered()
    claim = actions.report_claim(
        vehicle=covered.car,
        panel="hood.1",
        symptom="lines",
        noticed_on=date(2028, 1, 5),
        by=covered.desk,
        now=noon(date(2028, 1, 5)),
    )
    row = actions.decide(
        claim=models.Claim.objects.for_page().get(pk=claim.pk),
        outcome="refuse",
        clause="cover.workmanship",
        reason="The cover for our work is over.",
        customer_pct=100,
        by=Proven(covered.dora, "pin"),
        now=noon(date(2028, 1, 5)),
    )
    assert "The cover for our work ended on 3 March 2027." in text(row)


def test_facts_are_digested_as_they_are_read_and_hold_no_personal_value():
    row = decided(Covered())
    assert chain.digest(json.loads(row.facts)) == row.facts_digest
    assert all(name not in row.facts for name in ("Ana", "QS 12 ABC", "washed it"))


def test_what_changes_later_changes_no_letter():
    covered = Covered()
    row = decided(covered)
    before = text(row)
    models.Workshop.objects.update(name="Another name", phone="1", address="Elsewhere")
    models.Person.objects.filter(pk=covered.dora.pk).update(name="Dora Married")
    models.Vehicle.objects.update(model="boat", colour="pink")
    customer = covered.job.customer
    customer.name = keep_private(covered.shop, "Somebody Else")
    customer.save()
    models.Document.objects.filter(kind="terms").update(body={})
    row.refresh_from_db()
    assert text(row) == before


def test_what_was_erased_reads_so():
    row = decided(Covered())
    models.Private.objects.filter(pk=row.reason_id).update(value="", salt="", erased_at=noon(TOLD))
    page = text(row)
    assert "erased" in page and "washed" not in page


def test_it_prints_once_and_the_first_bytes_stay(tmp_path):
    row = letter.print_letter(decided(Covered()))
    data = store.open_pdf(row.pdf_sha256)
    assert data.startswith(b"%PDF-") and row.printed_at
    file = tmp_path / "letter.pdf"
    file.write_bytes(data)
    words = subprocess.run(
        ["pdftotext", "-layout", str(file), "-"], capture_output=True, text=True, check=True
    ).stdout
    assert "Claim 26-0001: accepted in part" in words and "You have rights by law" in words
    again = letter.print_letter(models.Decision.objects.get(pk=row.pk))
    assert again.pdf_sha256 == row.pdf_sha256


def test_a_press_that_dies_leaves_the_decision_unprinted(monkeypatch):
    def dies(*args, **kwargs):
        raise press.PressFailed("stopped halfway")

    row = decided(Covered())
    with monkeypatch.context() as broken:
        broken.setattr(press, "run", dies)
        assert letter.print_letter(row).pdf_sha256 == ""
    assert letter.print_letter(row).pdf_sha256
