"""Older papers: what a table may look like, every way a row can be wrong, and what a paper brought in is worth."""

import base64
import re
from datetime import date
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from shop import clock, models
from shop.claims.actions import report_claim
from shop.find.life import life_of
from shop.find.search import search
from shop.intake.actions import take_in
from shop.keep import prove_papers
from shop.keep.belongings import belongings_of
from shop.people.identity import Claimed, SignedIn
from shop.public.standing import standing
from shop.reasons import Refused
from shop.warranty.actions import bring_in_papers
from shop.warranty.cover import cover_of
from shop.warranty.spreadsheet import MOST_BYTES, MOST_ROWS, NoTable, decode, read_table
from tests import make

pytestmark = pytest.mark.django_db
HEAD = "Number,VIN,Model,Colour,Panels,First day,Last day,Owner,Phone,Plate,Film,Last day of our work"
ROWS = (
    'S-17,1M8GDM9AXKP042788,Sedan,red,"Hood, Roof",2024-05-01,2029-05-01,Ana Berg,,QS 1,Dune matt,2025-05-01',
    "S-18,ZZZPP41L5TR000002,Hatch,grey,Left fender,01/06/2024,31.05.2029,,,,,",
)
TABLE = "\r\n".join([HEAD, *ROWS, ""])


@pytest.fixture
def shop():
    row = make.workshop(country="GB")
    for kind, path in (
        ("plan", "plans/builtin.toml"), ("body", "bodies/sedan.toml"), ("body", "bodies/hatchback.toml"),
        ("roles", "roles.toml"), ("terms", "terms/builtin.toml"),
    ):  # fmt: skip
        make.document(row, kind, path)
    return row


@pytest.fixture
def dora(shop):
    return make.person(shop, "Dora", "desk", password="harbour lights 7")


@pytest.fixture(autouse=True)
def standing_clock():
    clock.set_to(make.NOW)


def bring(shop, dora, text=TABLE, **rest):
    return bring_in_papers(workshop=shop, text=text, by=SignedIn(dora), now=make.NOW, **rest)


def with_row(**cells) -> str:
    """The table with one good row and one that has these cells changed."""
    names = [
        "number",
        "vin",
        "model",
        "colour",
        "panels",
        "first",
        "last",
        "name",
        "phone",
        "plate",
        "film",
        "work",
    ]
    good = ["S-99", "ZZZPP41L5TR000009", "Estate", "blue", "Hood", "2024-01-31", "2026-01-31", *[""] * 5]
    row = [cells.get(name, usual) for name, usual in zip(names, good, strict=True)]
    return "\n".join([HEAD, ROWS[0], ",".join(f'"{cell}"' for cell in row)])


# ------------------------------------------------------------------ letters and separators


@pytest.mark.parametrize("codec", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("separator", [",", ";", "\t"], ids=["comma", "semicolon", "tab"])
def test_any_letters_and_separators(codec, separator):
    text = f"Number{separator}Owner\r\n7{separator}Zoë Müller\r\n"
    table = read_table(decode(text.encode(codec))[0])
    assert (table.headings, table.rows) == (("Number", "Owner"), ((2, ("7", "Zoë Müller")),))


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b" \r\n ", "empty"),
        (b"\xef\xbb\xbf", "empty"),
        (b"Number,VIN\r\n", "nothing under it"),
        (b"PK\x03\x04rest", "workbook"),
        (b"a,b\n\x81\x8d,1", "not whole"),
        ("a,b\n1".encode("utf-16")[:-1], "not whole"),
        (b"a,b\n1,2\0", "no"),
        (b'a,b\n1,"2', "quotation mark"),
        (b"a,a\n1,2", "Two columns"),
        (b"x" * (MOST_BYTES + 1), "larger"),
        (b"a,b\n" + b"1,2\n" * (MOST_ROWS + 1), "more than"),
        (b",".join(b"c%d" % n for n in range(101)) + b"\n1", "more than 100 columns"),
    ],
    ids=[
        "nothing", "blanks", "only a mark", "only headings", "workbook", "no letters", "half a letter", "a nought",
        "open quotes", "twice a heading", "huge", "too many rows", "too wide",
    ],
)  # fmt: skip
def test_what_is_no_table_says_why(data, said):
    with pytest.raises(NoTable, match=said):
        read_table(decode(data)[0])


def test_rows_keep_the_number_the_spreadsheet_shows():
    table = read_table('sep=;\r\nNumber;Owner\r\n\r\n1;"Ana\r\nBerg"\r\n2;Tom\r\n')
    assert table.rows == ((3, ("1", "Ana Berg")), (4, ("2", "Tom")))


# ------------------------------------------------------------------ bad rows


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ({"number": ""}, "Row 3, Certificate number: Every paper has a number."),
        ({"number": "N" * 21}, "Row 3, Certificate number: The number is too long"),
        ({"number": "s-17"}, "Row 3, Certificate number: This number stands in row 2 already."),
        ({"vin": "ZZZ"}, "Row 3, VIN: A VIN has 17 characters"),
        ({"vin": "OZZPP41L5TR000009"}, "Row 3, VIN: A VIN holds digits and capital letters"),
        ({"vin": ""}, "Row 3, VIN: Type the VIN"),
        ({"model": ""}, "Row 3, Model: "),
        ({"colour": ""}, "Row 3, Paint colour: "),
        ({"panels": ""}, "Row 3, Panels: It names no panel."),
        ({"panels": "Hood, Wing"}, "Row 3, Panels: No body here has a panel called “Wing”."),
        ({"panels": "trunk-lid, tailgate"}, "Row 3, Panels: No one body has all these panels"),
        ({"first": ""}, "Row 3, First day: There is no day in it."),
        ({"first": "31/02/2024"}, "Row 3, First day: “31/02/2024” is a day that no calendar has."),
        ({"first": "1.5.24"}, "Row 3, First day: “1.5.24” is no day"),
        ({"first": "45413"}, "Row 3, First day: “45413” is no day"),
        ({"first": "1924-05-01"}, "Row 3, First day: “1924-05-01” is too long ago"),
        ({"first": "2099-01-01", "last": "2101-01-01"}, "Row 3, First day: That day is still to come"),
        ({"last": "2023-12-31"}, "Row 3, Last day of the film: The last day lies before the first."),
        ({"last": "2924-12-31"}, "Row 3, Last day of the film: No cover lasts so long"),
        ({"work": "2023-12-31"}, "Row 3, Last day of our work: The last day lies before the first."),
        ({"work": "soon"}, "Row 3, Last day of our work: “soon” is no day"),
        ({"phone": "112", "name": "Tom"}, "Row 3, Owner's phone: That phone number is too short"),
        ({"phone": "020 8366 1177"}, "Row 3, Owner's name: There is a phone number"),
        ({"plate": "Q\u200b1"}, "Row 3, Plate: The plate holds a sign that cannot be seen"),
    ],
)  # fmt: skip
def test_a_bad_row_is_named_and_nothing_comes_in(shop, dora, cells, said):
    with pytest.raises(Refused) as refused:
        bring(shop, dora, with_row(**cells))
    assert any(reason.text.startswith(said) for reason in refused.value.reasons), refused.value.reasons
    assert not models.Certificate.objects.exists()
    assert not models.Vehicle.objects.exists()
    assert not models.Private.objects.exists()


def test_every_bad_row_is_named_at_once(shop, dora):
    with pytest.raises(Refused) as refused:
        bring(shop, dora, with_row(vin="ZZZ", first="never", panels=""))
    assert len(refused.value.reasons) == 3


@pytest.mark.parametrize("gone", ["Number", "VIN", "Model", "Colour", "Panels", "First day", "Last day"])
def test_a_missing_column_is_named(shop, dora, gone):
    head = ",".join("Remark" if name == gone else name for name in HEAD.split(","))
    with pytest.raises(Refused) as refused:
        bring(shop, dora, "\n".join([head, *ROWS]))
    assert refused.value.reasons[0].text.startswith("No column is the ")


def test_days_are_read_as_said(shop, dora):
    text = with_row(first="03/05/2024")
    bring(shop, dora, text, days="mdy")
    assert models.CoverLine.objects.get(revision__certificate__number="S-99").first_day == date(2024, 3, 5)


@pytest.mark.parametrize("role", ["installer", "inspector"])
def test_only_desk_and_owner_bring_in(shop, role):
    person = make.person(shop, "Ines", role)
    with pytest.raises(Refused) as refused:
        bring(shop, person)
    assert [reason.code for reason in refused.value.reasons] == ["not_allowed"]


def test_a_name_picked_on_a_tablet_is_not_enough(shop, dora):
    with pytest.raises(Refused):
        bring_in_papers(workshop=shop, text=TABLE, by=Claimed(dora, make.tablet(shop)), now=make.NOW)


# ------------------------------------------------------------------ what they are worth


def test_what_was_promised_before_is_promised_still(shop, dora):
    first, second = bring(shop, dora)
    lines = list(
        first.current().cover.order_by("pk").values_list("panel", "kind", "months", "counting", "last_day")
    )
    assert lines == [
        ("hood", "material", 60, "event_day_excluded", date(2029, 5, 1)),
        ("roof", "material", 60, "event_day_excluded", date(2029, 5, 1)),
        ("hood", "workmanship", 12, "event_day_excluded", date(2025, 5, 1)),
        ("roof", "workmanship", 12, "event_day_excluded", date(2025, 5, 1)),
    ]
    line = second.current().cover.get()
    assert (line.first_day, line.last_day, line.months, line.counting) == (
        date(2024, 6, 1), date(2029, 5, 31), 60, "first_day_counted",
    )  # fmt: skip
    assert len(cover_of(first.vehicle, today=make.NOW.date()).on(date(2029, 5, 1))) == 2


def test_the_same_table_again_changes_nothing(shop, dora):
    bring(shop, dora)
    before = (models.Entry.objects.count(), models.Private.objects.count(), models.SearchKey.objects.count())
    assert bring(shop, dora) == []
    assert bring(shop, dora, TABLE.replace("2029-05-01", "2030-05-01")) == []
    after = (models.Entry.objects.count(), models.Private.objects.count(), models.SearchKey.objects.count())
    assert after == before


def test_it_is_found_and_stands_in_the_life(shop, dora):
    first, _ = bring(shop, dora)
    for typed in ("S-17", "s17", "042788", "Berg", "QS 1", "S-1"):
        assert first.vehicle_id in [hit.vehicle.pk for hit in search(shop, typed).hits], typed
    (paper,) = life_of(first.vehicle, language="en").papers
    assert paper.certificate.imported


def test_it_can_be_claimed(shop, dora):
    first, _ = bring(shop, dora)
    claim = report_claim(
        vehicle=first.vehicle,
        panel="hood",
        symptom="lifted_edge",
        noticed_on=date(2025, 4, 1),
        by=SignedIn(dora),
        now=make.NOW,
    )
    assert (claim.line.label, claim.line.kind, claim.fitting) == ("Hood", "workmanship", None)


def test_a_stranger_is_told_that_there_is_no_evidence(shop, dora):
    first, _ = bring(shop, dora)
    found = standing(first, now=make.NOW)
    assert (found.code, found.is_good, found.imported) == ("in_force", False, True)
    page = Client().get(f"/check/{first.token}/").content.decode()
    assert "Imported, no evidence" in page
    assert "Ana Berg" not in page
    assert "second person" not in page


def test_the_books_prove(shop, dora):
    bring(shop, dora)
    assert [prove_papers.revisions(lambda *_: None).wrong, prove_papers.cover(lambda *_: None).wrong] == [
        [],
        [],
    ]


def test_its_values_are_the_owners(shop, dora):
    first, _ = bring(shop, dora)
    customer = models.Customer.objects.get()
    found = belongings_of(customer)
    assert {customer.name_id, first.vehicle.plate_id, first.vehicle.vin_private_id} <= found.values
    assert found.covered_until() == date(2029, 5, 1)


def test_the_car_comes_in_later_with_the_body_it_has(shop, dora):
    first, _ = bring(shop, dora)
    job = take_in(
        workshop=shop, name="Ana Berg", vin="1M8GDM9AXKP042788", model="Hatch", colour="red", body="hatchback",
        by=SignedIn(dora), now=make.NOW,
    )  # fmt: skip
    assert (job.vehicle_id, job.vehicle.body, job.customer.name.value) == (
        first.vehicle_id,
        "hatchback",
        "Ana Berg",
    )
    assert life_of(job.vehicle, language="en").papers


def test_a_known_owner_stays(shop, dora):
    take_in(
        workshop=shop, name="New Owner", vin="1M8GDM9AXKP042788", model="Sedan", colour="black",
        by=SignedIn(dora), now=make.NOW,
    )  # fmt: skip
    first, _ = bring(shop, dora)
    assert [str(row.customer) for row in first.vehicle.ownerships.all()] == ["New Owner"]
    assert first.vehicle.colour == "black"


# ------------------------------------------------------------------ the page


@pytest.fixture
def desk(dora):
    client = Client()
    client.force_login(dora.user)
    return client


def sent(data: bytes, **rest) -> dict:
    return {"key": str(uuid4()), "act": "look", "file": SimpleUploadedFile("old.csv", data)} | rest


def test_looked_through_then_brought_in(desk):
    page = desk.post("/old-papers/", sent(TABLE.encode()))
    assert page.status_code == 200
    assert b"Bring 2 in" in page.content
    assert not models.Certificate.objects.exists()
    found = dict(re.findall(r'name="(c_\w+|content|key|days)"[^>]*value="([^"]*)"', page.content.decode()))
    content = found["content"]
    assert base64.b64decode(content).decode() == TABLE
    form = {"key": str(uuid4()), "act": "bring", "content": content, "days": "dmy"}
    assert desk.post("/old-papers/", form).status_code == 302
    assert desk.post("/old-papers/", form).status_code == 302
    assert models.Certificate.objects.filter(imported=True).count() == 2
    listed = desk.get("/old-papers/").content.decode()
    assert "S-17" in listed
    for paper in models.Certificate.objects.all():
        assert b"no evidence" in desk.get(f"/old-papers/{paper.pk}/").content


def test_columns_can_be_named_by_hand(desk):
    text = TABLE.replace("Number,VIN", "Old ref,Ident")
    page = desk.post("/old-papers/", sent(text.encode())).content.decode()
    assert "No column is the VIN" in page
    named = {f"c_{name}": "" for name in ("plate", "film")} | {
        "c_number": "Old ref", "c_vin": "Ident", "c_model": "Model", "c_colour": "Colour", "c_panels": "Panels",
        "c_first_day": "First day", "c_last_day": "Last day",
    }  # fmt: skip
    content = base64.b64encode(text.encode()).decode()
    answer = desk.post("/old-papers/", {"key": str(uuid4()), "act": "bring", "content": content} | named)
    assert answer.status_code == 302
    assert models.Certificate.objects.count() == 2
    assert not models.CoverLine.objects.filter(kind="workmanship").exists()


@pytest.mark.parametrize(
    ("data", "said"),
    [(b"PK\x03\x04", "This is a workbook"), (b"", "empty"), (with_row(vin="ZZZ").encode(), "A VIN has 17")],
)
def test_a_bad_file_is_said_on_the_page(desk, data, said):
    page = desk.post("/old-papers/", sent(data))
    assert said in page.content.decode()
    assert not models.Certificate.objects.exists()


def test_bad_rows_refuse_the_whole(desk):
    content = base64.b64encode(with_row(vin="ZZZ").encode()).decode()
    page = desk.post("/old-papers/", {"key": str(uuid4()), "act": "bring", "content": content})
    assert page.status_code == 409
    assert not models.Certificate.objects.exists()
