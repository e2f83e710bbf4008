"""The first start: once, whole or not at all."""

import json

import pytest

from shop.documents.models import Document
from shop.people import actions
from shop.people.models import Person, Workshop
from shop.reasons import Refused
from shop.record.models import Book, Entry
from tests.people.conftest import NOW, OWNER, SHOP

pytestmark = pytest.mark.django_db


def test_makes_workshop_owner_book_and_documents(petra):
    shop = petra.workshop
    assert petra.role_set == {"owner"} and petra.user.check_password(OWNER["password"])
    assert Book.objects.get(workshop=shop, job=None).length == 2
    assert [entry.verb for entry in Entry.objects.order_by("number")] == ["set_up", "adopt_built_ins"]
    assert set(Document.objects.values_list("kind", flat=True)) >= {"plan", "film", "body", "roles"}
    assert not shop.self_release


def test_second_time_is_refused(petra):
    with pytest.raises(Refused) as refused:
        actions.set_up(**SHOP | {"name": "Another"}, **OWNER | {"owner_name": "Otto"}, now=NOW)
    assert [reason.code for reason in refused.value.reasons] == ["already_set_up"]
    assert Workshop.objects.count() == 1


def test_every_fault_is_named_at_once_and_nothing_is_kept(db):
    wrong = {"zone": "Europe/Nowhere", "country": "XX", "public_url": "bay", "name": " ", "mail": "me"}
    with pytest.raises(Refused) as refused:
        actions.set_up(**SHOP | wrong, owner_name="", password="short", pin="123456", now=NOW)
    found = [(reason.code, reason.where) for reason in refused.value.reasons]
    assert set(found) >= {("value_wrong", f"#{field}") for field in [*wrong, "owner_name"]}
    assert {"password_weak", "pin_easy"} <= {code for code, _ in found}
    assert not Workshop.objects.exists() and not Person.objects.exists() and not Entry.objects.exists()


def test_hashed_bodies_hold_no_name_address_or_secret(petra):
    bodies = "".join(Entry.objects.values_list("body", flat=True))
    for told in ("Petra", "Lund", "Quay Street\\n", "Harbourton", OWNER["password"], OWNER["pin"]):
        assert told not in bodies
    body = json.loads(Entry.objects.get(verb="set_up").body)
    assert body["address"]["private"] and len(body["address"]["commit"]) == 64
