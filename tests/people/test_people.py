"""People come, change and go: who may, what is refused, and what the book keeps."""

import json

import pytest
from django.contrib.sessions.models import Session

from shop.people import actions, pin
from shop.people.identity import Claimed, Proven, SignedIn
from shop.people.models import Person
from shop.reasons import Refused
from shop.record.models import Entry, Private
from tests import make
from tests.people.conftest import NOW, OWNER

pytestmark = pytest.mark.django_db


@pytest.fixture
def ines(shop, by_petra):
    return actions.add_person(
        workshop=shop, name="Ines Hart", roles=["installer"], pin="730416", by=by_petra, now=NOW
    )


def codes(refused):
    return [reason.code for reason in refused.value.reasons]


def test_a_new_person_can_sign_with_the_pin_given(ines):
    assert ines.role_set == {"installer"} and ines.user is None
    assert pin.prove(ines, "730416", now=NOW).how == "pin"
    entry = Entry.objects.get(verb="add_person")
    assert "Ines" not in entry.body and "730416" not in entry.body
    told = json.loads(entry.body)["person"]["name"]
    assert Private.objects.get(pk=told["private"]).value == "Ines Hart"


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"name": "  "}, "value_wrong"),
        ({"name": "x" * 81}, "value_wrong"),
        ({"name": " petra   LUND"}, "name_taken"),
        ({"roles": []}, "value_wrong"),
        ({"roles": ["king"]}, "value_wrong"),
        ({"pin": "111111"}, "pin_easy"),
        ({"pin": "345678"}, "pin_easy"),
        ({"pin": "12a456"}, "pin_shape"),
        ({"pin": "12345"}, "pin_shape"),
        ({"pin": "٤٨٢٩١٥"}, "pin_shape"),
        ({"password": "password"}, "password_weak"),
        ({"password": "7 chars"}, "password_weak"),
        ({"password": "82736452891"}, "password_weak"),
        ({"password": "x" * 201}, "password_weak"),
    ],
)
def test_one_fault_is_one_reason_and_nobody_comes(shop, by_petra, changed, code):
    given = {"name": "Ines Hart", "roles": ["installer"]} | changed
    with pytest.raises(Refused) as refused:
        actions.add_person(workshop=shop, **given, by=by_petra, now=NOW)
    assert codes(refused) == [code]
    assert Person.objects.count() == 1 and not Entry.objects.filter(verb="add_person").exists()


def test_only_the_owner_signed_in_does_people_and_tablets(shop, petra, ines):
    dora = make.person(shop, "Dora", "desk", "inspector", "installer")
    tablet = make.tablet(shop)
    otto = make.person(make.workshop(name="Another"), "Otto", "owner")
    acts = [
        lambda by: actions.add_person(workshop=shop, name="X", roles=["desk"], by=by, now=NOW),
        lambda by: actions.change_person(person=ines, name="X", roles=["desk"], by=by, now=NOW),
        lambda by: actions.leave(person=ines, by=by, now=NOW),
        lambda by: actions.set_pin(person=ines, pin="730417", by=by, now=NOW),
        lambda by: actions.set_password(person=ines, password="tide over stones", by=by, now=NOW),
        lambda by: actions.enrol_tablet(workshop=shop, name="Bay 9", by=by, now=NOW),
        lambda by: actions.revoke_tablet(tablet=tablet, by=by, now=NOW),
        lambda by: actions.change_settings(workshop=shop, self_release=True, by=by, now=NOW),
    ]
    for by, code in (
        (SignedIn(dora), "not_allowed"),
        (Claimed(petra), "not_allowed"),
        (SignedIn(otto), "other_workshop"),
    ):
        for act in acts:
            with pytest.raises(Refused) as refused:
                act(by)
            assert codes(refused) == [code]
    assert set(Entry.objects.values_list("verb", flat=True)) == {"set_up", "adopt_built_ins", "add_person"}


def test_a_changed_name_and_roles_stand_in_the_book_without_the_name(shop, by_petra, ines):
    actions.change_person(
        person=ines, name="Ines Hart-Vale", roles=["installer", "inspector"], by=by_petra, now=NOW
    )
    ines = Person.objects.get(pk=ines.pk)
    assert ines.name == "Ines Hart-Vale" and ines.role_set == {"installer", "inspector"}
    body = Entry.objects.get(verb="change_person").body
    assert "Vale" not in body and '"roles":["inspector","installer"]' in body


def test_nothing_changed_writes_nothing(by_petra, ines):
    actions.change_person(person=ines, name=" Ines  Hart", roles=["installer"], by=by_petra, now=NOW)
    assert not Entry.objects.filter(verb="change_person").exists()


def test_the_last_owner_neither_leaves_nor_stops_being_one(shop, petra, by_petra):
    # An owner who cannot sign in opens no door.
    actions.add_person(workshop=shop, name="Rolf", roles=["owner"], pin="730416", by=by_petra, now=NOW)
    for act in (
        lambda: actions.leave(person=petra, by=by_petra, now=NOW),
        lambda: actions.change_person(person=petra, name="Petra Lund", roles=["desk"], by=by_petra, now=NOW),
    ):
        with pytest.raises(Refused) as refused:
            act()
        assert codes(refused) == ["last_owner"]
    actions.add_person(
        workshop=shop, name="Nils", roles=["owner"], password="stones over tide", by=by_petra, now=NOW
    )
    actions.leave(person=petra, by=by_petra, now=NOW)
    assert Person.objects.get(pk=petra.pk).left_at == NOW


def test_leaving_ends_pin_password_and_every_session_at_once(client, shop, by_petra):
    dora = actions.add_person(
        workshop=shop,
        name="Dora",
        roles=["desk"],
        pin="730416",
        password="harbour lights 7",
        by=by_petra,
        now=NOW,
    )
    client.post("/sign-in/", {"name": "dora", "password": "harbour lights 7"})
    assert client.get("/me/").status_code == 200
    actions.leave(person=dora, by=by_petra, now=NOW)
    assert client.get("/me/").status_code == 302
    assert client.post("/sign-in/", {"name": "dora", "password": "harbour lights 7"}).status_code == 409
    with pytest.raises(Refused) as refused:
        pin.prove(dora, "730416", now=NOW)
    assert codes(refused) == ["not_allowed"]
    with pytest.raises(Refused):
        actions.set_pin(person=dora, pin="730417", by=by_petra, now=NOW)
    # Her name is free again for somebody new.
    actions.add_person(workshop=shop, name="Dora", roles=["desk"], by=by_petra, now=NOW)


def test_own_secrets_need_proof_and_the_owners_reset_does_not(petra, by_petra, ines):
    for act in (
        lambda by: actions.set_pin(person=petra, pin="730417", by=by, now=NOW),
        lambda by: actions.set_password(person=petra, password="stones over tide", by=by, now=NOW),
    ):
        with pytest.raises(Refused) as refused:
            act(by_petra)
        assert codes(refused) == ["not_allowed"]
        act(Proven(petra, "password"))
    actions.set_pin(person=ines, pin="730417", by=by_petra, now=NOW)
    assert pin.prove(ines, "730417", now=NOW)


def test_a_new_password_ends_the_sessions_of_the_old(client, petra, shop, by_petra):
    dora = actions.add_person(
        workshop=shop, name="Dora", roles=["desk"], password="harbour lights 7", by=by_petra, now=NOW
    )
    client.post("/sign-in/", {"name": "Dora", "password": "harbour lights 7"})
    actions.set_password(person=dora, password="other lights 8", by=by_petra, now=NOW)
    assert client.get("/me/").status_code == 302
    assert client.post("/sign-in/", {"name": "Dora", "password": "other lights 8"}).status_code == 302


def test_settings_keep_what_is_left_out_and_tell_the_book_what_changed(shop, by_petra):
    changed = actions.change_settings(
        workshop=shop, self_release=True, address="9 New Quay\nHarbourton", by=by_petra, now=NOW
    )
    assert changed.self_release and changed.name == shop.name
    body = json.loads(Entry.objects.get(verb="change_settings").body)
    assert body["self_release"] is True and set(body) == {"self_release", "address"}
    assert "New Quay" not in json.dumps(body)
    actions.change_settings(workshop=shop, self_release=True, by=by_petra, now=NOW)
    assert Entry.objects.filter(verb="change_settings").count() == 1


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", " "), ("address", ""), ("mail", "petra"), ("zone", "Mars/Base"), ("country", "Spain"),
        ("language", "xx"), ("unit_system", "imperial"), ("public_url", "ftp://bay.example.com"),
        ("public_url", "https://bay.example.com/?a=1"), ("public_url", "https://a b/"), ("public_url", "https://x:99999"),
        ("public_url", "http://[::1"), ("pin_length", 3), ("pin_length", 9), ("phone", "0" * 41),
    ],
)  # fmt: skip
def test_settings_that_cannot_be_are_refused_at_their_field(shop, by_petra, field, value):
    with pytest.raises(Refused) as refused:
        actions.change_settings(workshop=shop, **{field: value}, by=by_petra, now=NOW)
    assert [(reason.code, reason.where) for reason in refused.value.reasons] == [("value_wrong", f"#{field}")]


@pytest.mark.parametrize(
    "address",
    ["http://localhost:8000", "https://bay.example.com/shop/", "http://10.0.0.5", "http://[::1]:8000"],
)
def test_public_addresses_that_can_be(shop, by_petra, address):
    changed = actions.change_settings(workshop=shop, public_url=address, by=by_petra, now=NOW)
    assert changed.public_url == address.rstrip("/")


def test_pins_follow_the_length_the_owner_sets(shop, by_petra, ines):
    actions.change_settings(workshop=shop, pin_length=8, by=by_petra, now=NOW)
    with pytest.raises(Refused):
        actions.set_pin(person=ines, pin="730417", by=by_petra, now=NOW)
    actions.set_pin(person=ines, pin="73041755", by=by_petra, now=NOW)
    for length in range(4, 9):
        assert not pin.problems(pin.fresh(length), length)


def test_no_session_is_left_readable(client, petra):
    client.post("/sign-in/", {"name": OWNER["owner_name"], "password": OWNER["password"]})
    assert Session.objects.count() == 1
    kept = Session.objects.get().get_decoded()
    assert OWNER["password"] not in json.dumps(kept) and OWNER["pin"] not in json.dumps(kept)
