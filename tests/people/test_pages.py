"""The pages of people, tablets, settings and documents: doors, refusals without a trace, forms sent twice."""

import re

import pytest
from django.db import connection
from django.test import Client

from shop import clock
from shop.documents.models import Document
from shop.people import actions, tablets
from shop.people.models import Person
from shop.record.models import Entry, Receipt
from tests import make
from tests.people.conftest import NOW, OWNER, SHOP
from tests.people.seen import key_of, rows, signed_in

pytestmark = pytest.mark.django_db
FIRST = {**SHOP, **OWNER, "unit_system": "metric", "phone": "", "mail": ""}


@pytest.fixture(autouse=True)
def standing_clock():
    clock.set_to(NOW)


@pytest.fixture
def people(shop, petra, by_petra):
    """One person of each role with a password, and an enrolled tablet."""
    for role in ("installer", "inspector", "desk"):
        actions.add_person(
            workshop=shop,
            name=role,
            roles=[role],
            pin="730416",
            password="harbour lights 7",
            by=by_petra,
            now=NOW,
        )
    return {person.name: person for person in Person.objects.all()}


@pytest.fixture
def tablet(shop, by_petra):
    return actions.enrol_tablet(workshop=shop, name="Bay 2", by=by_petra, now=NOW)


@pytest.fixture
def owner(petra):
    return signed_in(OWNER["owner_name"], OWNER["password"])


# --- doors --------------------------------------------------------------------------------------------------

OWNERS = [
    "/people/",
    "/people/new/",
    "/people/{p}/",
    "/people/{p}/pin/",
    "/people/{p}/password/",
    "/people/{p}/leave/",
]
OWNERS += ["/tablets/", "/tablets/{t}/", "/tablets/{t}/revoke/", "/shop/settings/"]
EVERYBODYS = ["/me/", "/me/password/", "/shop/", "/shop/documents/{d}/"]


def addresses(shop, people, tablet):
    plan = Document.objects.in_force(shop, "plan")
    fill = {"p": people["installer"].pk, "t": tablet.pk, "d": plan.pk}
    return [a.format(**fill) for a in OWNERS], [a.format(**fill) for a in EVERYBODYS]


def test_who_may_open_what(shop, people, tablet, owner):
    owners, everybodys = addresses(shop, people, tablet)
    stranger, by_tablet = Client(), Client()
    by_tablet.get(f"/enrol/{tablets.link_token(tablet)}/")
    for address in owners + everybodys:
        for nobody in (stranger, by_tablet):
            answer = nobody.get(address)
            assert answer.status_code == 302 and answer["Location"].startswith("/sign-in/"), address
            assert nobody.post(address, {}).status_code == 302
    for role in ("installer", "inspector", "desk"):
        client = signed_in(role)
        assert {client.get(address).status_code for address in owners} == {403}
        assert {client.post(address, {}).status_code for address in owners} == {403}
        assert {client.get(address).status_code for address in everybodys} == {200}
    assert {owner.get(address).status_code for address in owners + everybodys} == {200}


def test_what_belongs_to_another_workshop_is_not_there(shop, people, tablet):
    owners, everybodys = addresses(shop, people, tablet)
    make.person(make.workshop(name="Another"), "Otto", "owner", password="harbour lights 7")
    otto = signed_in("Otto")
    theirs = [address for address in owners + everybodys if re.search(r"\d", address)]
    assert len(theirs) == 7
    for address in theirs:
        assert otto.get(address).status_code == 404
        assert otto.post(address, {"key": "x"}).status_code in (404, 405)


def test_home_leads_on(client, db):
    assert client.get("/")["Location"] == "/first-start/"
    assert client.get("/sign-in/")["Location"] == "/first-start/"
    petra = actions.set_up(**SHOP, **OWNER, now=NOW)
    assert client.get("/")["Location"] == "/sign-in/"
    client.force_login(petra.user)
    assert client.get("/")["Location"] == "/bay/"


# --- forms --------------------------------------------------------------------------------------------------


def test_a_form_sent_twice_adds_one_person(owner):
    page = owner.get("/people/new/")
    assert re.search(r'name="pin" value="\d{6}"', page.text)
    sent = {"key": key_of(page), "name": "Ines Hart", "roles": ["installer"], "pin": "730416", "password": ""}
    assert [owner.post("/people/new/", sent)["Location"] for _ in range(2)] == ["/people/", "/people/"]
    assert Person.objects.filter(name="Ines Hart").count() == 1
    other = owner.post("/people/new/", sent | {"name": "Somebody Else"})
    assert other.status_code == 409 and 'data-reason="key_reused"' in other.text
    receipt = Receipt.objects.get(key=sent["key"])
    assert receipt.answer == {"to": "/people/"}


def test_no_receipt_lets_a_pin_be_guessed_from_its_digest(owner):
    """The rest of the body is known to whoever holds the table, so the digest must not be a plain one."""
    from shop.record import chain

    sent = {"key": key_of(owner.get("/people/new/")), "name": "Ines", "roles": ["installer"], "pin": "730416"}
    owner.post("/people/new/", sent | {"password": ""})
    plain = {"path": "/people/new/", "name": "Ines", "roles": ["installer"], "pin": "730416", "password": ""}
    assert Receipt.objects.get(key=sent["key"]).body_digest != chain.digest(plain)


REFUSED = [
    ("/people/new/", {"name": "Petra lund", "roles": ["desk"]}, 409, "name_taken"),
    ("/people/new/", {"name": "Ines", "roles": ["installer"], "pin": "111111"}, 409, "pin_easy"),
    ("/people/new/", {"name": "Ines", "roles": ["king"]}, 422, None),
    ("/people/new/", {"name": "", "roles": []}, 422, None),
    ("/people/{me}/", {"name": "Petra Lund", "roles": ["desk"]}, 409, "last_owner"),
    ("/people/{me}/leave/", {}, 409, "last_owner"),
    ("/people/{p}/pin/", {"pin": "12345"}, 409, "pin_shape"),
    ("/people/{p}/password/", {"password": "short"}, 409, "password_weak"),
    ("/me/password/", {"old_password": "wrong", "password": "stones over tide"}, 409, "password_wrong"),
    ("/me/password/", {"old_password": OWNER["password"], "password": "12345678"}, 409, "password_weak"),
    ("/tablets/", {"name": " "}, 422, None),
    ("/shop/settings/", {"name": "", "zone": "x"}, 422, None),
]


@pytest.mark.parametrize(("address", "sent", "status", "code"), REFUSED)
def test_a_refused_form_leaves_no_row(owner, people, petra, address, sent, status, code):
    address = address.format(me=petra.pk, p=people["installer"].pk)
    before, receipts = rows(), Receipt.objects.count()
    page = owner.post(address, {"key": key_of(owner.get(address)), **sent})
    assert page.status_code == status
    assert code is None or f'data-reason="{code}"' in page.text
    assert rows() == before and Receipt.objects.count() == receipts


def test_own_password_with_the_old_one_keeps_this_session_and_ends_others(owner, petra):
    elsewhere = signed_in(OWNER["owner_name"], OWNER["password"])
    sent = {
        "key": key_of(owner.get("/me/password/")),
        "old_password": OWNER["password"],
        "password": "stones over tide",
    }
    assert owner.post("/me/password/", sent)["Location"] == "/me/"
    assert owner.get("/me/").status_code == 200
    assert elsewhere.get("/me/").status_code == 302
    entry = Entry.objects.get(verb="set_password")
    assert (entry.person, entry.proven) == (petra, "password")


def test_own_pin_at_the_desk_with_the_old_one(owner, petra):
    sent = {"key": key_of(owner.get("/me/pin/")), "old_pin": OWNER["pin"], "pin": "294817", "again": "294817"}
    assert owner.post("/me/pin/", sent)["Location"] == "/me/"
    petra.refresh_from_db()
    assert actions.pins.prove(petra, "294817", now=NOW)


def test_the_owner_is_sent_to_the_own_pages_for_own_secrets(owner, petra):
    assert owner.get(f"/people/{petra.pk}/pin/")["Location"] == "/me/pin/"
    assert owner.get(f"/people/{petra.pk}/password/")["Location"] == "/me/password/"


def test_changing_resetting_revoking_and_leaving_through_the_pages(owner, people, tablet):
    ines = people["installer"]
    base = f"/people/{ines.pk}/"
    for address, sent in (
        (base, {"name": "Ines Hart", "roles": ["installer", "inspector"]}),
        (f"{base}pin/", {"pin": "294817"}),
        (f"{base}password/", {"password": "stones over tide"}),
        (f"{base}leave/", {}),
        (f"/tablets/{tablet.pk}/revoke/", {}),
    ):
        assert owner.post(address, {"key": key_of(owner.get(address)), **sent}).status_code == 302, address
    assert owner.get(base).status_code == 404
    verbs = list(Entry.objects.order_by("number").values_list("verb", flat=True))[-5:]
    assert verbs == ["change_person", "set_pin", "set_password", "leave", "revoke_tablet"]
    assert "Ines Hart" in owner.get("/people/").text


def test_settings_through_the_page(owner, shop):
    page = owner.get("/shop/settings/")
    sent = FIRST | {"key": key_of(page), "name": "Quay Street Film", "unit_system": "us", "pin_length": "7"}
    assert owner.post("/shop/settings/", sent | {"self_release": "on"}).status_code == 302
    shop.refresh_from_db()
    assert (shop.name, shop.unit_system, shop.pin_length, shop.self_release) == (
        "Quay Street Film",
        "us",
        7,
        True,
    )
    assert "checked by the installer" in owner.get("/shop/").text


def test_the_owner_sees_the_machine_and_nobody_else(owner, people):
    seen = owner.get("/shop/").text
    name = {"sqlite": "SQLite", "postgresql": "PostgreSQL"}[connection.vendor]
    assert re.search(rf"{name} \d+\.\d+", seen) and "PIN key" in seen
    assert "PIN key" not in signed_in("installer").get("/shop/").text


def test_every_document_is_readable_in_words(owner, shop):
    for row in Document.objects.filter(workshop=shop):
        page = owner.get(f"/shop/documents/{row.pk}/")
        assert page.status_code == 200 and row.digest in page.text
        words = re.sub(r"<[^>]+>", " ", page.text.split("<main")[1])
        assert not re.search(r"\{|\}|None|\[&#x27;|_c100|_um10|_mm\b", words), row


# --- as many rows as there are ------------------------------------------------------------------------------


def queries(client, address, django_assert_max_num_queries):
    with django_assert_max_num_queries(40) as seen:
        assert client.get(address).status_code == 200
    return len(seen)


@pytest.mark.parametrize("address", ["/people/", "/tablets/", "/shop/", "/me/pin/"])
def test_many_rows_cost_no_more_queries_than_few(
    owner, shop, by_petra, people, tablet, address, django_assert_max_num_queries
):
    few = queries(owner, address, django_assert_max_num_queries)
    for number in range(8):
        actions.add_person(
            workshop=shop, name=f"More {number}", roles=["installer", "inspector"], by=by_petra, now=NOW
        )
        actions.enrol_tablet(workshop=shop, name=f"More {number}", by=by_petra, now=NOW)
        make.document(shop, "film", "films/defaults.toml", name=f"more-{number}")
    assert queries(owner, address, django_assert_max_num_queries) == few
