"""Disk full, database busy or away, bucket away: a sentence, nothing kept by half, and what was typed goes again."""

import errno
import html
import json
import re
import uuid
from io import BytesIO

import pytest
from django.db import OperationalError
from django.test import Client

from shop import refusals, store, trouble
from shop.models import Entry
from tests import make

pytestmark = pytest.mark.django_db
FULL = OSError(errno.ENOSPC, "No space left on device")


@pytest.mark.parametrize(
    ("error", "kind"),
    [
        (OperationalError("database is locked"), trouble.BUSY),
        (OperationalError("deadlock detected\nDETAIL: Process 7 waits"), trouble.BUSY),
        (OperationalError("database or disk is full"), trouble.FULL),
        (OperationalError("could not extend file: No space left on device"), trouble.FULL),
        (OSError(errno.ENOSPC, "full"), trouble.FULL),
        (OperationalError("connection to server failed: refused"), trouble.AWAY),
        (store.Unreachable("The bucket shop cannot be reached."), trouble.AWAY),
        (OperationalError("no such column: x"), None),
        (OSError(errno.EACCES, "no"), None),
        (ValueError("locked"), None),
        (None, None),
    ],
)
def test_trouble_is_told_apart_from_faults_of_the_program(error, kind):
    assert trouble.trouble_of(error) is kind


@pytest.fixture
def desk():
    shop = make.workshop()
    client = Client(raise_request_exception=False)
    client.force_login(make.person(shop, "Petra", "owner", password="harbour-lamp-7").user)
    return client


def hidden(page):
    found = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', page.content.decode())
    return {name: html.unescape(value) for name, value in found if name != "csrfmiddlewaretoken"}


def fail(error):
    def instead(*_, **__):
        raise error

    return instead


@pytest.mark.parametrize(
    ("error", "status", "code"),
    [(FULL, 507, "disk_full"), (OperationalError("database is locked"), 503, "busy"),
     (store.Unreachable("The bucket did not answer."), 503, "away")],
)  # fmt: skip
def test_what_was_typed_at_the_desk_goes_again_and_acts_once(desk, monkeypatch, error, status, code):
    typed = {"key": str(uuid.uuid4()), "years": "3", "q": 'Anna "Brook" <x>'}
    with monkeypatch.context() as broken:
        broken.setattr("shop.keep.actions.set_retention", fail(error))
        page = desk.post("/shop/customers/", typed)
    assert page.status_code == status and int(page["Retry-After"]) > 0
    assert f'data-reason="{code}"' in page.content.decode()
    assert hidden(page) == typed and Entry.objects.count() == 0
    for _ in range(2):
        assert desk.post("/shop/customers/", hidden(page)).status_code == 302
    assert Entry.objects.filter(verb="set_retention").count() == 1


def test_a_pin_is_asked_again_and_never_written_into_the_page(rf):
    request = rf.post("/cars/1/?x=1", {"key": "k", "pin": "719304", "old_pin": "1", "photo": BytesIO(b"x")})
    page = refusals.troubled(request, trouble.BUSY).content.decode()
    assert "719304" not in page and 'name="pin"' in page and 'name="old_pin"' in page
    assert 'action="/cars/1/?x=1"' in page and 'enctype="multipart/form-data"' in page
    assert 'type="file" name="photo"' in page


def test_trouble_before_any_view_runs_is_told_as_well(desk, monkeypatch):
    monkeypatch.setattr("shop.people.middleware._person", fail(OperationalError("connection failed")))
    page = desk.get("/cars/")
    assert page.status_code == 503 and "Try again" in page.content.decode()


def test_a_fault_of_the_program_is_still_called_one(desk, monkeypatch):
    monkeypatch.setattr("shop.keep.views_customers.due", fail(KeyError("x")))
    page = desk.get("/shop/customers/")
    assert page.status_code == 500 and "Something broke on our side" in page.content.decode()


def test_a_tablet_is_told_in_its_own_words(rf):
    answer = refusals.troubled(rf.post("/sync/entries"), trouble.FULL)
    told = json.loads(answer.content)
    assert answer.status_code == 507 and told["bay"] == 1
    assert told["reasons"][0]["code"] == "disk_full" and "by itself" in told["reasons"][0]["text"]


@pytest.mark.parametrize(
    ("sent", "asked"),
    [
        (["person", "pin"], ["PIN once more"]),
        (["name", "password"], ["Password once more"]),
        (["who", "old_pin", "pin", "again"], ["PIN now", "New PIN", "New PIN again"]),
        (["old_password", "password"], ["Password now", "New password"]),
        (["name", "password", "pin"], ["Password once more", "PIN once more"]),
    ],
)
def test_each_secret_that_is_asked_once_more_has_its_own_name(rf, sent, asked):
    request = rf.post("/me/pin/", dict.fromkeys(sent, "482915"))
    told = refusals._typed(request)
    assert [words for _, words in told["secrets"]] == asked
    assert "482915" not in [value for name, value in told["again"] if name in ("pin", "old_pin", "again")]
