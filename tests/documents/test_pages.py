"""The owner's pages for documents: what is typed, what is refused, what stays, and what comes out."""

import re

import pytest

from shop import clock
from shop.documents import actions, drafts, film_form, toml
from shop.documents.models import Document
from shop.people.identity import SignedIn
from tests import make

pytestmark = pytest.mark.django_db
NOW = make.NOW
PASSWORD = "harbour lights 7"


@pytest.fixture(autouse=True)
def standing_clock():
    clock.set_to(NOW)


@pytest.fixture
def shop():
    return make.workshop()


@pytest.fixture
def petra(shop):
    return make.person(shop, "Petra", "owner", password=PASSWORD)


@pytest.fixture
def owner(client, petra):
    client.force_login(petra.user)
    return client


@pytest.fixture
def adopted(shop, petra):
    rows = actions.adopt_built_ins(workshop=shop, by=SignedIn(petra), now=NOW)
    return {row.kind: row for row in rows if row.kind != "body" or row.name == "sedan"}


def draft(petra, row, old="", new=""):
    text = drafts.copied(row, name=row.name, version="2").replace(old, new or old)
    return actions.save_draft(workshop=petra.workshop, text=text, by=SignedIn(petra), now=NOW)


def form_of(page) -> dict[str, str]:
    """Everything the page's own form would send as it stands."""
    form = page.context["form"]
    return {field.html_name: field.value() if field.value() is not None else "" for field in form}


def send(client, url, **typed):
    return client.post(url, {**form_of(client.get(url)), **typed})


def codes(page):
    return re.findall(r'data-reason="(\w+)"', page.content.decode())


# --- from a copy to a published text -----------------------------------------------------------------------


def test_a_copy_is_drafted_edited_compared_and_published(owner, petra, adopted):
    plan = adopted["plan"]
    done = send(owner, f"/shop/documents/{plan.pk}/copy/")
    row = Document.objects.get(kind="plan", version="2")
    assert done["Location"] == f"/shop/documents/{row.pk}/edit/"
    page = owner.get(done["Location"])
    assert page.context["faults"] == [] and page.content.count(b'<a id="L') > row.text.count("\n")

    text = row.text.replace("Wipe edge, return, flush line", "Wipe every edge")
    assert send(owner, done["Location"], text=text.replace("\n", "\r\n")).status_code == 302
    row.refresh_from_db()
    assert row.text == text

    page = owner.get(f"/shop/documents/{row.pk}/compare/")
    assert page.context["differences"] == [
        ("Lines “degrease.wipe”, text", "was “Wipe edge, return, flush line”, now “Wipe every edge”.")
    ]
    done = send(owner, f"/shop/documents/{row.pk}/publish/", proof=PASSWORD)
    assert done["Location"] == f"/shop/documents/{row.pk}/"
    assert Document.objects.in_force(petra.workshop, "plan") == row
    page = owner.get("/shop/documents/").content.decode()
    assert "1 retired" in page and "in force since" in page


def test_faults_are_named_with_their_line_and_lead_there(owner, petra, adopted):
    row = draft(petra, adopted["terms"], old="months = 12\n", new="months = 0\n")
    line = row.text[: row.text.index("months = 0")].count("\n") + 1
    page = owner.get(f"/shop/documents/{row.pk}/edit/").content.decode()
    assert "cover.workmanship.months: 0 is less than 1." in page
    assert f'href="#L{line}"' in page and f'id="L{line}"' in page
    page = owner.get(f"/shop/documents/{row.pk}/publish/")
    assert "cannot be published yet" in page.content.decode() and b'name="proof"' not in page.content
    assert send(owner, f"/shop/documents/{row.pk}/publish/", proof=make.PIN).status_code == 409


def test_a_text_that_cannot_be_read_stays_on_the_page_and_is_not_kept(owner, petra, adopted):
    row = draft(petra, adopted["terms"])
    page = send(owner, f"/shop/documents/{row.pk}/edit/", text='kind = "terms"\nname =\n')
    assert page.status_code == 409
    said = page.content.decode()
    assert "Line 2 cannot be read" in said and "name =\n" in said and 'href="#L2"' in said
    row.refresh_from_db()
    assert "name =\n" not in row.text
    assert send(owner, f"/shop/documents/{row.pk}/edit/", text="").status_code == 422


def test_a_version_that_is_taken_is_said_at_its_field(owner, adopted):
    page = send(owner, f"/shop/documents/{adopted['plan'].pk}/copy/", version="1")
    assert page.status_code == 409 and codes(page) == ["document_version_taken"]
    assert page.context["form"].errors["version"]


def test_the_same_form_twice_makes_one_draft(owner, adopted):
    url = f"/shop/documents/{adopted['plan'].pk}/copy/"
    typed = form_of(owner.get(url))
    assert owner.post(url, typed)["Location"] == owner.post(url, typed)["Location"]
    assert Document.objects.filter(kind="plan").count() == 2


@pytest.mark.parametrize(
    ("proof", "code"), [("111222", "pin_wrong"), ("not my password", "password_wrong"), ("", None)]
)
def test_a_wrong_secret_publishes_nothing(owner, petra, adopted, proof, code):
    row = draft(petra, adopted["plan"])
    page = send(owner, f"/shop/documents/{row.pk}/publish/", proof=proof)
    assert page.status_code == (409 if code else 422)
    assert code is None or codes(page) == [code]
    assert proof == "" or proof not in page.content.decode()
    row.refresh_from_db()
    assert row.is_draft


@pytest.mark.parametrize("proof", [make.PIN, PASSWORD])
def test_pin_and_password_both_answer_for_it(owner, petra, adopted, proof):
    row = draft(petra, adopted["plan"])
    assert send(owner, f"/shop/documents/{row.pk}/publish/", proof=proof).status_code == 302


def test_a_draft_changed_meanwhile_is_read_again(owner, petra, adopted):
    row = draft(petra, adopted["plan"])
    typed = form_of(owner.get(f"/shop/documents/{row.pk}/publish/")) | {"proof": make.PIN}
    text = row.text.replace("Built-in plan", "Another")
    actions.save_draft(workshop=petra.workshop, text=text, document=row, by=SignedIn(petra), now=NOW)
    page = owner.post(f"/shop/documents/{row.pk}/publish/", typed)
    assert page.status_code == 409 and codes(page) == ["screen_changed"]


def test_what_terms_lack_for_the_place_is_said_with_the_legal_note(owner, petra, shop, adopted):
    shop.country = "US"
    shop.save()
    row = draft(petra, adopted["terms"], old='dispute = "none"\n', new="\n")
    for url in (f"/shop/documents/{row.pk}/", f"/shop/documents/{row.pk}/publish/"):
        said = owner.get(url).content.decode()
        assert "What the paper still lacks in United States" in said
        assert "disputes are settled informally" in said and "no legal advice" in said
    said = owner.get(f"/shop/documents/{adopted['terms'].pk}/").content.decode()
    assert "Nothing that is asked there is missing." in said and "no legal advice" in said


def test_retiring_asks_for_the_secret_and_refuses_the_last(owner, petra, adopted):
    row = draft(petra, adopted["plan"])
    assert send(owner, f"/shop/documents/{row.pk}/retire/", proof=make.PIN)["Location"] == "/shop/documents/"
    assert owner.get(f"/shop/documents/{row.pk}/").status_code == 404
    page = send(owner, f"/shop/documents/{adopted['plan'].pk}/retire/", proof=make.PIN)
    assert page.status_code == 409 and codes(page) == ["document_needed"]


def test_a_published_text_has_no_page_to_edit_it(owner, adopted):
    for act in ("edit", "publish"):
        assert owner.get(f"/shop/documents/{adopted['plan'].pk}/{act}/").status_code == 404


def test_others_read_and_compare_but_do_not_draft(client, shop, petra, adopted):
    row = draft(petra, adopted["plan"])
    client.force_login(make.person(shop, "Dora", "desk", password=PASSWORD).user)
    here = f"/shop/documents/{row.pk}/"
    assert [client.get(url).status_code for url in ("/shop/documents/", here, f"{here}compare/")] == [200] * 3
    assert [client.get(f"{here}{act}/").status_code for act in ("copy", "edit", "publish", "retire")] == [
        403
    ] * 4
    assert b"Throw it away" not in client.get(here).content


@pytest.mark.parametrize("wanted", ["999999", "x", "9" * 40, "-1", ""])
def test_comparing_with_something_odd_is_no_fault(owner, adopted, wanted):
    page = owner.get(f"/shop/documents/{adopted['plan'].pk}/compare/", {"with": wanted})
    assert page.status_code == (404 if wanted == "999999" else 200)


# --- the film sheet as a form ------------------------------------------------------------------------------


@pytest.fixture
def sheet(petra, adopted):
    return draft(petra, adopted["film"])


def test_left_alone_the_form_changes_no_figure_in_either_system(owner, shop, sheet):
    before = toml.parsed(sheet.text).body
    for system in ("metric", "us"):
        shop.unit_system = system
        shop.save()
        assert send(owner, f"/shop/documents/{sheet.pk}/edit/").status_code == 302
        sheet.refresh_from_db()
        assert toml.parsed(sheet.text).body == before, system
    assert drafts.all_faults(sheet.text) == []


def test_figures_are_typed_in_any_unit(owner, sheet):
    done = send(
        owner,
        f"/shop/documents/{sheet.pk}/edit/",
        title="Harbour teal",
        note="",
        thickness__typical_um10="6.5 mil",
        thickness__source="the maker's paper of May",
        limits__air_c100__stop_below="50 °F",
        limits__dew_margin_c100__stop_below="5.4 °F",
        limits__humidity_rh10__note_below="",
        limits__return_mm__note_below="1/4 in",
        stale__minutes="0.5 h",
        primer__flash_off_least_s="3 min",
        primer__corners_of="hood roof, door-front-left",
        cure__bands__2__from_c100="50 °F",
        cure__bands__2__hours="2 d",
        cure__bands__1__from_c100="14",
        cure__bands__1__hours="36 h",
    )
    assert done.status_code == 302
    sheet.refresh_from_db()
    body = toml.parsed(sheet.text).body
    assert body["title"] == {"en": "Harbour teal"} and "note" not in body
    assert (
        body["thickness"]["typical_um10"] == 1651
        and body["thickness"]["source"] == "the maker's paper of May"
    )
    assert body["limits"]["air_c100"]["stop_below"] == 1000
    assert body["limits"]["dew_margin_c100"] == {
        "stop_below": 300,
        "source": "ISO 8502-4 and ISO 12944-7: surface at least 3 °C above dew point",
    }
    assert "note_below" not in body["limits"]["humidity_rh10"]
    assert body["limits"]["return_mm"]["note_below"] == 6
    assert body["stale"]["minutes"] == 30
    assert body["primer"] == {
        "flash_off_least_s": 180,
        "flash_off_most_s": 3600,
        "corners_of": ["hood", "roof", "door-front-left"],
        "source": "from memory, unverified",
    }
    assert body["cure"]["bands"] == [
        {"from_c100": 1800, "hours": 24},
        {"from_c100": 1400, "hours": 36},
        {"from_c100": 1000, "hours": 48},
    ]
    assert drafts.all_faults(sheet.text) == []


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"stale__minutes": "soon"}, "stale__minutes", "Write a time as a number"),
        ({"stale__minutes": "90 s"}, "stale__minutes", "kept in whole minutes"),
        ({"stale__minutes": ""}, "stale__minutes", "This figure is needed."),
        ({"limits__air_c100__good_from": "18 kg"}, "limits__air_c100__good_from", "in °C or °F"),
        ({"limits__panel_c100__source": ""}, "limits__panel_c100__source", "Say where this comes from"),
        ({"cure__source": ""}, "cure__source", "Say where this comes from"),
        ({"cure__bands__2__hours": "60 h"}, "cure__bands__2__hours", "give both"),
        ({"name": "Harbour Teal"}, "name", "Small letters"),
        (
            {"thickness__typical_um10": "6.5 mm"},
            "thickness__typical_um10",
            "6500 µm (255.9 mil): film usually has 50 µm (2 mil) to 400 µm",
        ),
        ({"thickness__typical_um10": "6.5"}, "thickness__typical_um10", "6.5 mil are 165 µm"),
    ],
)
def test_a_slip_is_said_at_its_field_and_nothing_is_kept(owner, sheet, typed, field, said):
    before = sheet.text
    page = send(owner, f"/shop/documents/{sheet.pk}/edit/", **typed)
    assert page.status_code == 422
    assert any(said in error for error in page.context["form"].errors[field])
    assert all(f'value="{value}"' in page.content.decode() for value in typed.values() if value)
    sheet.refresh_from_db()
    assert sheet.text == before


def test_an_odd_thickness_is_kept_once_it_was_compared(owner, sheet):
    url = f"/shop/documents/{sheet.pk}/edit/"
    page = send(owner, url, thickness__typical_um10="480 µm")
    assert page.status_code == 422 and b'name="confirmed"' in page.content
    assert b'name="confirmed"' not in owner.get(url).content
    assert send(owner, url, thickness__typical_um10="480 µm", confirmed="on").status_code == 302
    sheet.refresh_from_db()
    assert toml.parsed(sheet.text).body["thickness"] == {
        "typical_um10": 4800,
        "question_below_um10": 500,
        "question_above_um10": 4800,
        "source": "common practice, no source",
    }
    assert drafts.all_faults(sheet.text) == []


def test_both_units_of_the_thickness_are_shown(owner, sheet):
    assert "165 µm (6.5 mil)" in owner.get(f"/shop/documents/{sheet.pk}/edit/").content.decode()
    assert film_form.both(1270) == "127 µm (5 mil)"


def test_a_sheet_without_a_part_is_put_right_as_text(owner, petra, sheet):
    text = sheet.text.replace('[stale]\nminutes = 30\nsource = "common practice, no source"\n', "")
    actions.save_draft(workshop=petra.workshop, text=text, document=sheet, by=SignedIn(petra), now=NOW)
    page = owner.get(f"/shop/documents/{sheet.pk}/edit/").content.decode()
    assert "stale: is missing." in page and 'name="text"' in page
