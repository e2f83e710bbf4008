"""The printed certificate: archive form, fonts, attached facts, words, and the same bytes again."""

import io
import json
import re
import subprocess
from dataclasses import replace
from datetime import timedelta

import pikepdf
import pytest

from shop import printing
from shop.people.identity import Proven
from shop.warranty import actions, paper
from tests import make, make_finished

NOW = make_finished.HANDED_OVER + timedelta(minutes=10)
SIX = (
    ("hood", 1),
    ("roof", 1),
    ("fender-left", 1),
    ("fender-right", 1),
    ("bumper-front", 2),
    ("mirror-left", 1),
)
OURS = {"Fira-Sans", "Fira-Sans-Bold", "IBM-Plex-Mono"}


def text_of(data: bytes, page: int = 0, *options: str) -> str:
    pages = ["-f", str(page), "-l", str(page)] if page else []
    told = subprocess.run(
        ["pdftotext", *pages, *options, "-", "-"], input=data, capture_output=True, check=True
    )
    return told.stdout.decode()


@pytest.fixture(scope="module")
def printed(django_db_setup, django_db_blocker):
    """One paper for all looks at it; the rows are rolled back."""
    from django.db import transaction

    with django_db_blocker.unblock(), transaction.atomic():
        done = make_finished.finished_job(panels=SIX)
        revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
        put = paper.put_together(revision)
        transaction.set_rollback(True)
    return revision, put, printing.render(put)


@pytest.fixture
def pdf(printed):
    with pikepdf.open(io.BytesIO(printed[2])) as opened:
        yield opened


def test_the_same_facts_give_the_same_bytes(printed):
    assert printing.render(printed[1]) == printed[2]


def test_says_pdf_a_3a(pdf):
    with pdf.open_metadata() as xmp:
        assert xmp.get("pdfaid:part") == "3"
        assert xmp.get("pdfaid:conformance") == "A"


def test_is_tagged_and_says_its_language_and_title(pdf):
    assert pdf.Root.MarkInfo.Marked == True  # noqa: E712 - a PDF boolean
    assert pdf.Root.StructTreeRoot.K
    assert str(pdf.Root.Lang) == "en"
    assert pdf.Root.ViewerPreferences.DisplayDocTitle == True  # noqa: E712
    assert str(pdf.docinfo.Title) == "Certificate 26-0001"


def test_every_figure_has_words(pdf):
    found = []

    def walk(element):
        if isinstance(element, pikepdf.Array):
            for inner in element:
                walk(inner)
        elif isinstance(element, pikepdf.Dictionary):
            if element.get("/S") == "/Figure":
                found.append(str(element.get("/Alt", "")))
            if "/K" in element and not isinstance(element.K, int):
                walk(element.K)

    walk(pdf.Root.StructTreeRoot.K)
    assert len(found) > 10
    assert all(found)
    assert any("Covered: Hood, Roof" in words for words in found)


def test_fonts_are_ours_and_embedded(pdf):
    seen = set()
    for page in pdf.pages:
        for font in page.Resources.Font.values():
            inner = font.DescendantFonts[0]
            assert "/FontFile2" in inner.FontDescriptor or "/FontFile3" in inner.FontDescriptor
            seen.add(str(inner.BaseFont).lstrip("/").partition("+")[2])
    assert seen <= OURS


def test_carries_its_facts(pdf, printed):
    revision = printed[0]
    [name] = pdf.attachments
    attached = pdf.attachments[name]
    assert name == "facts.json"
    assert attached.get_file().mime_type == "application/json"
    assert str(attached.obj.AFRelationship) == "/Data"
    assert attached.get_file().read_bytes() == revision.facts.encode()
    assert {str(file.UF) for file in pdf.Root.AF} == {"facts.json"}


def test_what_it_says(printed):
    revision, _, data = printed
    said = " ".join(text_of(data).split())
    for words in (
        "Certificate of cover",
        "Limited warranty",
        "26-0001",
        "Ana Berg",
        make.VIN,
        "QS 12 ABC",
        "48,210 km",
        "Harbour teal, deep teal gloss, 165 µm",
        "lot L-2209",
        "Ines Vidal, Tom Aker, then Marek Dudek",
        "a second person, who filmed none of it",
        "3 March 2026, at hand-over",
        "3 March 2031",
        "3 March 2027",
        "2 April 2026",
        "from 17 March 2026",
        "wrapped, both fender joints and lower lip short",
        "Your rights by law",
        "The seller's duty by law",
        "Tell us by phone, mail or letter",
        "3 March 2026, 14:00",
        "Europe/Madrid",
        revision.facts_digest,
        revision.head,
    ):
        assert words in said, words


def test_every_page_has_number_and_count(printed, pdf):
    count = len(pdf.pages)
    for page in range(1, count + 1):
        said = text_of(printed[2], page)
        assert "certificate 26-0001" in said.lower()
        assert f"page {page} of {count}" in said


def test_the_text_of_page_one_ends_above_the_check(printed):
    """With six panels everything stands on page one, and nothing runs into the foot."""
    words = re.findall(
        r'yMin="([\d.]+)" xMax="[\d.]+" yMax="([\d.]+)">([^<]*)</word>', text_of(printed[2], 1, "-bbox")
    )
    foot = min(float(top) for top, _, word in words if word == "Check")
    body = [float(bottom) for _, bottom, word in words if word in ("paper.", "wait.")]
    assert body
    assert max(body) < foot
    assert foot < 842 - 14 / 25.4 * 72


def test_nothing_is_fetched_that_was_not_brought_along(printed):
    _, put, _ = printed
    for address in (
        "file:///etc/hostname",
        "https://film.example/logo.png",
        "data:image/png;base64,AAAA",
        "photo:" + "0" * 64,
        "static:other.svg",
    ):
        with pytest.raises(printing.NotPrinted):
            printing.render(replace(put, html=put.html.replace("static:qr.svg", address)))


def test_what_is_typed_stays_text(db):
    """A name is a name, whatever signs it holds."""
    shop = make.workshop(name='<img src="file:///etc/passwd">')
    done = make_finished.finished_job(shop, panels=(("hood", 1),), with_photos=False)
    revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
    put = paper.put_together(revision)
    assert '<img src="file' not in put.html
    assert '<img src="file' in text_of(printing.render(put))


@pytest.mark.django_db
def test_us_shops_print_on_letter_in_their_units_too():
    shop = make.workshop(country="US", zone="America/Chicago", unit_system="us")
    done = make_finished.finished_job(shop, panels=SIX, with_photos=False)
    revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
    data = printing.render(paper.put_together(revision))
    with pikepdf.open(io.BytesIO(data)) as opened:
        box = [float(value) for value in opened.pages[0].MediaBox]
        assert box[2:] == [612, 792]
        assert [float(v) for v in opened.pages[1].MediaBox][2:] == [612, 792]
    said = " ".join(text_of(data).split())
    assert "6.5 mil (165 µm)" in said
    assert "0.31 in (8 mm)" in said
    assert "29,956 miles (48,210 km)" in said
    # 16 CFR 701.3 (a)(9), the prescribed sentence
    assert "This warranty gives you specific legal rights" in said


@pytest.mark.django_db
def test_many_panels_leave_the_code_on_page_one():
    panels = [*SIX, ("door-front-left", 1), ("door-front-right", 1), ("trunk-lid", 1), ("bumper-rear", 2)]
    done = make_finished.finished_job(panels=panels, with_photos=False)
    revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
    data = printing.render(paper.put_together(revision))
    assert "Check this paper" in text_of(data, 1)
    assert "how its edges end" not in text_of(data, 1)
    assert "Trunk lid" in text_of(data, 2)


@pytest.mark.django_db
def test_self_release_stands_on_the_paper():
    shop = make.workshop(self_release=True)
    done = make_finished.finished_job(
        shop, panels=(("hood", 1),), with_photos=False, checked_by_installer=True
    )
    revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
    html = paper.put_together(revision).html
    assert "checked by the installer" in html
    assert "a second person" not in html


def test_facts_in_the_file_hold_no_private_value(printed):
    facts = json.dumps(json.loads(printed[1].facts), ensure_ascii=False)
    for value in ("Ana Berg", make.VIN, "QS 12 ABC"):
        assert value not in facts
