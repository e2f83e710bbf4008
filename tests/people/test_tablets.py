"""Tablets: enrolled by a link that ends, known by a strict cookie, refused from the request after the revoking."""

import html
import re
from datetime import timedelta

import pytest
import zxingcpp
from django.test import Client
from PIL import Image, ImageDraw

from shop import clock
from shop.people import actions, tablets
from shop.people.models import Tablet
from shop.reasons import Refused
from shop.record.models import Entry
from tests import make
from tests.people.conftest import NOW, OWNER

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def standing_clock():
    clock.set_to(NOW)


@pytest.fixture
def tablet(shop, by_petra):
    return actions.enrol_tablet(workshop=shop, name="Bay 2", by=by_petra, now=NOW)


def link(tablet):
    return f"/enrol/{tablets.link_token(tablet)}/"


def test_the_link_puts_the_cookie_and_goes_to_the_bay(client, settings, tablet):
    settings.TABLET_COOKIE_SECURE = True
    answer = client.get(link(tablet))
    assert (answer.status_code, answer["Location"]) == (302, "/bay/")
    cookie = answer.cookies["tablet"]
    assert cookie["httponly"] and cookie["samesite"] == "Strict" and cookie["secure"]
    assert tablets.by_cookie(cookie.value) == (tablet, False)
    tablet.refresh_from_db()
    assert tablet.seen_at == NOW


def test_opened_from_another_site_the_way_on_is_a_link(client, tablet):
    answer = client.get(link(tablet), headers={"Sec-Fetch-Site": "cross-site"})
    assert answer.status_code == 200 and 'href="/bay/"' in answer.text and "tablet" in answer.cookies


def test_a_link_holds_a_day_and_no_longer(client, tablet):
    address = link(tablet)
    clock.set_to(NOW + timedelta(hours=24))
    assert client.get(address).status_code == 302
    clock.set_to(NOW + timedelta(hours=24, seconds=1))
    over = Client().get(address)
    assert over.status_code == 410 and "This link is over" in over.text and "tablet" not in over.cookies


@pytest.mark.parametrize("token", ["nonsense", "x" * 500, "a:b:c", "%00"])
def test_a_made_up_link_is_a_sentence(client, token):
    answer = client.get(f"/enrol/{token}/")
    assert answer.status_code == 410 and not answer.cookies


def test_a_revoked_tablet_is_refused_on_its_next_request(client, tablet, by_petra):
    address = link(tablet)
    client.get(address)
    assert client.get("/me/pin/").status_code == 200
    actions.revoke_tablet(tablet=tablet, by=by_petra, now=NOW)
    assert client.get("/me/pin/").status_code == 302
    assert "not enrolled any more" in client.get("/sign-in/").text
    assert client.get(address).status_code == 410
    assert [entry.verb for entry in Entry.objects.order_by("number")][-2:] == [
        "enrol_tablet",
        "revoke_tablet",
    ]
    actions.revoke_tablet(tablet=tablet, by=by_petra, now=NOW)
    assert Entry.objects.filter(verb="revoke_tablet").count() == 1


@pytest.mark.parametrize("value", ["", "1", "1.", "x.y", "9" * 40 + ".a", "1." + "0" * 64, "²." + "0" * 64])
def test_a_made_up_cookie_is_nobody(client, tablet, value):
    client.cookies["tablet"] = value
    assert client.get("/me/pin/").status_code == 302


def test_the_cookie_of_one_tablet_is_not_that_of_another(shop, by_petra, tablet):
    other = actions.enrol_tablet(workshop=shop, name="Bay 3", by=by_petra, now=NOW)
    secret = tablets.cookie_of(tablet).partition(".")[2]
    assert tablets.by_cookie(f"{other.pk}.{secret}") == (None, False)


def test_names_of_tablets(shop, by_petra, tablet):
    for name, code in (("", "value_wrong"), ("x" * 61, "value_wrong"), (" bay  2", "name_taken")):
        with pytest.raises(Refused) as refused:
            actions.enrol_tablet(workshop=shop, name=name, by=by_petra, now=NOW)
        assert [reason.code for reason in refused.value.reasons] == [code]
    actions.revoke_tablet(tablet=tablet, by=by_petra, now=NOW)
    actions.enrol_tablet(workshop=shop, name="Bay 2", by=by_petra, now=NOW)


def test_the_page_shows_the_link_and_a_code_that_says_the_same(client, tablet):
    client.post("/sign-in/", {"name": OWNER["owner_name"], "password": OWNER["password"]})
    page = client.get(f"/tablets/{tablet.pk}/")
    shown = html.unescape(re.search(r'code-long">([^<]+)<', page.text)[1])
    assert shown.startswith("http://testserver/enrol/")
    assert _scanned(page.text) == shown
    assert Client().get(shown.removeprefix("http://testserver")).status_code == 302


def test_a_tablet_changes_a_pin_with_the_old_one(client, shop, tablet, by_petra):
    ines = actions.add_person(
        workshop=shop, name="Ines", roles=["installer"], pin="730416", by=by_petra, now=NOW
    )
    client.get(link(tablet))
    key = re.search(r'name="key" value="([^"]+)"', client.get("/me/pin/").text)[1]
    sent = {"key": key, "who": ines.pk, "old_pin": "730417", "pin": "294817", "again": "294817"}
    refused = client.post("/me/pin/", sent)
    assert refused.status_code == 409 and 'data-reason="pin_wrong"' in refused.text
    ines.refresh_from_db()
    assert ines.misses == 1 and Tablet.objects.get().misses == 1
    differ = client.post("/me/pin/", sent | {"old_pin": "730416", "again": "294818"})
    assert differ.status_code == 422 and "two new PINs differ" in differ.text
    assert client.post("/me/pin/", sent | {"old_pin": "730416"}).status_code == 302
    # Sent again, the old PIN is wrong by now; the form was answered already.
    assert client.post("/me/pin/", sent | {"old_pin": "730416"}).status_code == 302
    ines.refresh_from_db()
    assert ines.misses == 0 and Entry.objects.filter(verb="set_pin").count() == 1
    entry = Entry.objects.get(verb="set_pin")
    assert (entry.person, entry.proven, entry.tablet) == (ines, "pin", tablet)


def test_a_tablet_of_one_shop_offers_nobody_of_another(client, tablet):
    otto = make.person(make.workshop(name="Another"), "Otto", "owner")
    client.get(link(tablet))
    page = client.get("/me/pin/")
    assert "Petra Lund" in page.text and "Otto" not in page.text
    key = re.search(r'name="key" value="([^"]+)"', page.text)[1]
    sent = {"key": key, "who": otto.pk, "old_pin": make.PIN, "pin": "294817", "again": "294817"}
    assert client.post("/me/pin/", sent).status_code == 422


def _scanned(page: str) -> str:
    """What a scanner reads off the drawn code: its strokes painted as pixels."""
    side = int(re.search(r'viewBox="0 0 (\d+) \1"', page)[1])
    scale = 6
    picture = Image.new("L", (side * scale, side * scale), 255)
    draw = ImageDraw.Draw(picture)
    strokes = re.search(r'<path[^>]*class="qrline"[^>]*d="([^"]+)"', page) or re.search(
        r'd="(M[^"]+)"[^>]*class="qrline"', page
    )
    x = y = 0.0
    for command, numbers in re.findall(r"([Mmh])([^Mmh]*)", strokes[1]):
        found = [float(number) for number in re.findall(r"-?[\d.]+", numbers)]
        if command == "h":
            box = (x * scale, (y - 0.5) * scale, (x + found[0]) * scale - 1, (y + 0.5) * scale - 1)
            draw.rectangle(box, fill=0)
            x += found[0]
        elif command == "M":
            x, y = found
        else:
            x, y = x + found[0], y + found[1]
    return zxingcpp.read_barcode(picture).text
