"""Signing in: by name however it is typed, one sentence for whatever was wrong, tries counted."""

import re
from datetime import timedelta

import pytest

from shop import clock
from shop.people import actions, passwords
from shop.people.models import Throttle
from shop.reasons import Refused
from tests import make
from tests.people.conftest import NOW, OWNER

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def standing_clock():
    clock.set_to(NOW)


def post(client, name=OWNER["owner_name"], password=OWNER["password"], **more):
    return client.post("/sign-in/", {"name": name, "password": password, **more})


@pytest.mark.parametrize("name", ["Petra Lund", "petra lund", "  PETRA   LUND ", "Ｐetra Lund"])
def test_the_name_is_taken_however_it_is_typed(client, petra, name):
    answer = post(client, name)
    assert (answer.status_code, answer["Location"]) == (302, "/")
    assert client.get("/me/").status_code == 200


def test_one_answer_for_unknown_name_wrong_password_and_no_password(client, shop, petra, by_petra):
    actions.add_person(
        workshop=shop, name="Ines Hart", roles=["installer"], pin="730416", by=by_petra, now=NOW
    )
    tries = (("Nobody", "x" * 9), ("Petra Lund", "not hers"), ("Ines Hart", "730416"))
    pages = [(post(client, name, password), name) for name, password in tries]
    assert {page.status_code for page, _ in pages} == {409}
    told = {
        re.sub(r'csrfmiddlewaretoken" value="[^"]+"', "", page.text.replace(name, "")) for page, name in pages
    }
    assert len(told) == 1 and passwords.SAME_FOR_BOTH in told.pop()


def test_an_unknown_name_costs_as_much_as_a_wrong_password(petra, monkeypatch):
    hashed = []
    monkeypatch.setattr(passwords, "make_password", hashed.append)
    monkeypatch.setattr(passwords, "check_password", lambda password, _: hashed.append(password))
    for name in ("Nobody", "Petra Lund"):
        with pytest.raises(Refused):
            passwords.sign_in(name, "not hers", now=NOW)
    assert hashed == ["not hers", "not hers"]


def test_five_misses_and_the_right_password_waits_too(client, petra):
    for _ in range(5):
        assert "password_wrong" in post(client, password="wrong").text
    page = post(client)
    assert page.status_code == 409 and "password_locked" in page.text and "Wait" in page.text
    assert client.get("/me/").status_code == 302
    clock.set_to(NOW + timedelta(minutes=15))
    assert post(client).status_code == 302


def test_an_unknown_name_locks_alike(client, petra):
    answers = [post(client, "Nobody", "x").text for _ in range(7)]
    assert ["password_locked" in text for text in answers] == [False] * 5 + [True] * 2


def test_a_success_is_no_try(client, petra):
    for _ in range(12):
        assert post(client).status_code == 302
    assert set(Throttle.objects.values_list("count", flat=True)) == {0}


def test_all_names_together_are_braked_for_a_minute(petra, monkeypatch):
    monkeypatch.setattr(passwords, "ALL_TRIES", 8)
    codes = []
    for number in range(9):
        with pytest.raises(Refused) as refused:
            passwords.sign_in(f"Nobody {number}", "x", now=NOW)
        codes.append(refused.value.reasons[0].code)
    assert codes == ["password_wrong"] * 8 + ["password_locked"]
    assert passwords.sign_in("Petra Lund", OWNER["password"], now=NOW + timedelta(minutes=1)) == petra


def test_what_was_typed_as_a_name_is_not_kept(client, petra):
    post(client, "tide over stones", "Petra Lund")
    assert "tide" not in str(list(Throttle.objects.values()))


def test_the_forwarded_address_changes_nothing(client, petra):
    for n in range(6):
        page = client.post(
            "/sign-in/",
            {"name": "Petra Lund", "password": "wrong"},
            headers={"X-Forwarded-For": f"10.0.0.{n}"},
        )
    assert "password_locked" in page.text


def test_two_of_one_name_in_two_workshops_are_told_apart_by_password(client, petra):
    other = make.workshop(name="Another")
    twin = make.person(other, "Petra Lund", "owner", password="stones over tide")
    assert passwords.sign_in("Petra Lund", "stones over tide", now=NOW) == twin
    assert passwords.sign_in("Petra Lund", OWNER["password"], now=NOW) == petra
    twin.user.set_password(OWNER["password"])
    twin.user.save()
    with pytest.raises(Refused):
        passwords.sign_in("Petra Lund", OWNER["password"], now=NOW)


@pytest.mark.parametrize(
    ("onward", "ends"),
    [
        ("/people/", "/people/"),
        ("https://elsewhere.example/", "/"),
        ("//elsewhere.example", "/"),
        ("javascript:1", "/"),
    ],
)
def test_goes_on_to_where_one_came_from_but_never_elsewhere(client, petra, onward, ends):
    assert post(client, next=onward)["Location"] == ends


def test_a_stranger_is_asked_to_sign_in_and_comes_back(client, petra):
    asked = client.get("/people/")
    assert asked.status_code == 302
    page = client.get(asked["Location"])
    assert 'name="next" value="/people/"' in page.text


def test_signing_out_is_a_post_and_ends_the_session(client, petra):
    post(client)
    assert client.get("/sign-out/").status_code == 200
    assert client.get("/me/").status_code == 200
    assert client.post("/sign-out/")["Location"] == "/sign-in/"
    assert client.get("/me/").status_code == 302


def test_empty_fields_are_sentences_and_keep_what_was_typed(client, petra):
    page = post(client, password="")
    assert (
        page.status_code == 422 and "Type your password." in page.text and 'value="Petra Lund"' in page.text
    )
    assert not Throttle.objects.exists()


def test_a_password_proves_in_the_same_request_and_shares_the_count(petra):
    assert passwords.prove_password(petra, OWNER["password"], now=NOW).how == "password"
    for _ in range(5):
        with pytest.raises(Refused) as refused:
            passwords.prove_password(petra, "wrong", now=NOW)
        assert refused.value.reasons[0].code == "password_wrong"
    for act in (
        lambda: passwords.prove_password(petra, OWNER["password"], now=NOW),
        lambda: passwords.sign_in("Petra Lund", OWNER["password"], now=NOW),
    ):
        with pytest.raises(Refused) as refused:
            act()
        assert refused.value.reasons[0].code == "password_locked"


def test_a_very_long_password_is_wrong_and_not_a_load(petra):
    with pytest.raises(Refused) as refused:
        passwords.sign_in("Petra Lund", "x" * 100_000, now=NOW)
    assert refused.value.reasons[0].code == "password_wrong"
