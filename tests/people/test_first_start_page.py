"""The first start through its page: once, and a refused one leaves nothing but what was typed."""

import pytest
from django.test import Client

from shop import clock
from shop.people.models import Person, Workshop
from shop.record.models import Receipt
from tests.people.conftest import NOW, OWNER, SHOP
from tests.people.seen import key_of, rows

pytestmark = pytest.mark.django_db
FIRST = {**SHOP, **OWNER, "unit_system": "metric", "phone": "", "mail": ""}


@pytest.fixture(autouse=True)
def standing_clock():
    clock.set_to(NOW)


def test_first_start_through_the_page_once(client, db, settings):
    settings.SHOP_URL = "https://film.example.com"
    page = client.get("/first-start/")
    assert page.status_code == 200 and "https://film.example.com" in page.text
    sent = FIRST | {"key": key_of(page)}
    done = client.post("/first-start/", sent)
    assert (done.status_code, done["Location"]) == (302, "/people/")
    assert client.get("/people/").status_code == 200
    again = client.post("/first-start/", sent)
    assert (again.status_code, again["Location"]) == (302, "/people/")
    assert client.get("/first-start/").status_code == 404
    assert Client().get("/first-start/").status_code == 404
    assert Client().post("/first-start/", sent).status_code == 404
    assert Workshop.objects.count() == Person.objects.count() == 1


@pytest.mark.parametrize(
    ("changed", "status", "said"),
    [
        ({"name": ""}, 422, "This cannot stay empty."),
        ({"zone": "Mars/Base"}, 422, "Pick one of the list."),
        ({"name": "x" * 121}, 422, "At most 120 characters fit here; these are 121."),
        ({"pin": "123456"}, 409, "That PIN is the first one people try; take another."),
        ({"password": "password"}, 409, "on the list everybody tries first"),
        ({"public_url": "bay"}, 409, "Write the whole address"),
        ({"mail": "petra"}, 409, "That is no mail address"),
        ({"key": ""}, 422, "This page is too old"),
    ],
)
def test_first_start_refused_keeps_what_was_typed_and_no_row(client, db, changed, status, said):
    sent = FIRST | {"key": key_of(client.get("/first-start/")), "owner_name": "Petra O'Lund"} | changed
    before = rows()
    page = client.post("/first-start/", sent)
    assert page.status_code == status and said in page.text.replace("&#x27;", "'")
    assert "Petra O&#x27;Lund" in page.text and OWNER["password"] not in page.text
    assert rows() == before and not Receipt.objects.exists()
