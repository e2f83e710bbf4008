"""The roll's label and the way back: printed, photographed, read, and shown before anything is taken over."""

import io
import subprocess

import pytest
import zxingcpp
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from shop.film import label
from shop.film.roll_label import put_together
from shop.models import Receipt, Roll
from shop.photos import actions, codes
from shop.printing import render
from tests import make
from tests.photos.labels import photo, symbol

VIN = "1M8GDM9AXKP042788"
SIGNS = st.text(st.characters(min_codepoint=33, max_codepoint=126), min_size=1, max_size=40)


@pytest.fixture
def shop(db):
    return make.workshop()


def client_of(shop, name, *roles):
    client = Client()
    client.force_login(make.person(shop, name, *roles, password="harbour lights 7").user)
    return client


@pytest.fixture
def here(monkeypatch):
    """The codes are read here and now: the press has a test of its own."""

    def read(data):
        with actions._as_file(data) as file:
            return codes.read(file.name, "jpeg")

    monkeypatch.setattr(actions, "read_codes", read)


def send(client, address, data: bytes):
    return client.post(address, {"photo": SimpleUploadedFile("label.jpg", data, "image/jpeg")})


@given(SIGNS, SIGNS)
def test_what_a_label_says_is_what_was_put_on_it(lot, roll):
    assert label.read(label.payload(lot, roll)) == label.OnLabel(lot, roll)


# ISO/IEC 15434 format 06 with data identifiers; from memory, unverified: 1T lot, S serial, P part number.
@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("[)>\x1e06\x1dPFILM-9\x1d1TL-7\x1dS0042\x1e\x04", label.OnLabel("L-7", "0042")),
        ("[)>\x1e06\x1d1TL-7\x1e\x04", label.OnLabel("L-7", "")),
        ("[)>\x1e06\x1dPFILM-9\x1e\x04", None),
        ("R-1", label.OnLabel(bare="R-1")),
        ("https://film.example/r/1", None),
        ("x" * 41, None),
        ("a\x00b", None),
        ("", None),
    ],
)
def test_what_a_code_may_be(text, read):
    assert label.read(text) == read


def test_the_printed_label_is_read_back(shop, tmp_path):
    roll = make.roll(shop, lot="L-2209/B ünï", code="R 1")
    pdf = tmp_path / "label.pdf"
    pdf.write_bytes(render(put_together(roll)))
    subprocess.run(["pdftoppm", "-r", "200", "-png", pdf, tmp_path / "page"], check=True)
    [page] = tmp_path.glob("page*.png")
    with Image.open(page) as picture:
        assert [round(side / 200 * 25.4) for side in picture.size] == [100, 60]
        found = zxingcpp.read_barcodes(picture, text_mode=zxingcpp.TextMode.Plain)
    assert [label.read(code.text) for code in found] == [label.OnLabel("L-2209/B ünï", "R 1")]
    words = subprocess.run(["pdftotext", pdf, "-"], check=True, capture_output=True, text=True).stdout
    assert "Harbour teal" in words and "L-2209/B ünï" in words and "1 January 2028" in words


def test_the_label_by_its_page(shop):
    roll = make.roll(shop)
    answer = client_of(shop, "Dora", "desk").get(f"/film-room/rolls/{roll.pk}/label/")
    assert answer["Content-Type"] == "application/pdf" and answer.content.startswith(b"%PDF")
    other = client_of(make.workshop(name="Far"), "Otto", "owner")
    assert other.get(f"/film-room/rolls/{roll.pk}/label/").status_code == 404


def test_a_known_roll_opens_and_an_unknown_one_starts_its_form(shop, here):
    roll, dora = make.roll(shop), client_of(shop, "Dora", "desk")
    own = send(dora, "/film-room/rolls/read/", photo(symbol("QRCode", label.payload("L-2209", "R-1"))))
    assert f'href="/film-room/rolls/{roll.pk}/"' in own.text and "lot L-2209, roll R-1" in own.text
    new = send(dora, "/film-room/rolls/read/", photo(symbol("QRCode", label.payload("L-5", "R 9&x"))))
    assert 'href="/film-room/rolls/new/?lot=L-5&amp;roll=R+9%26x"' in new.text
    form = dora.get("/film-room/rolls/new/?lot=L-5&roll=R+9%26x").text
    assert 'value="L-5"' in form and 'value="R 9&amp;x"' in form
    bare = send(dora, "/film-room/rolls/read/", photo(symbol("Code39", "77-B"), degrees=15, light=0.5))
    assert "?roll=77-B" in bare.text and "?lot=77-B" in bare.text
    assert Roll.objects.count() == 1 and not Receipt.objects.exists()


def test_a_vin_is_shown_and_only_then_taken_over(shop, here):
    dora = client_of(shop, "Dora", "desk")
    page = send(dora, "/cars/new/read/", photo(symbol("Code39", f"I{VIN}"), degrees=-15, light=0.5))
    assert f"data-code>{VIN}<" in page.text and f'href="/cars/new/?vin={VIN}"' in page.text
    assert f'value="{VIN}"' in dora.get(f"/cars/new/?vin={VIN}").text
    wrong = send(dora, "/cars/new/read/", photo(symbol("Code128", "1M8GDM9A0KP042788")))
    assert "check digit" in wrong.text
    other = send(dora, "/cars/new/read/", photo(symbol("QRCode", "R-1")))
    assert "That is no VIN." in other.text


def test_a_photo_without_a_code_or_none_at_all_says_so(shop, here):
    ines = client_of(shop, "Ines", "installer")
    assert "No code was found." in send(ines, "/film-room/rolls/read/", photo()).text
    empty = ines.post("/film-room/rolls/read/", {})
    assert empty.status_code == 422 and "This cannot stay empty." in empty.text
    assert ines.get("/cars/new/read/").status_code == 403


def test_an_installer_is_not_led_to_a_form_that_is_not_hers(shop, here):
    page = send(
        client_of(shop, "Ines", "installer"), "/film-room/rolls/read/", photo(symbol("QRCode", "R-7"))
    )
    assert "/film-room/rolls/new/" not in page.text and "Nothing here goes by that code." in page.text


def test_the_label_page_is_small_enough_to_print_at_once(shop):
    assert len(io.BytesIO(render(put_together(make.roll(shop)))).getvalue()) < 200_000


def test_in_the_bay_a_label_is_told_and_nothing_is_kept(shop, here):
    ines = client_of(shop, "Ines", "installer")
    own = send(
        ines, "/bay/codes/", photo(symbol("QRCode", label.payload("L-1", "R-1")), degrees=15, light=0.5)
    )
    assert own.json() == {"found": [{"kind": "QR Code", "lot": "L-1", "roll": "R-1", "bare": ""}], "said": ""}
    assert send(ines, "/bay/codes/", photo()).json()["said"].startswith("No code was found.")
    broken = ines.post("/bay/codes/", {})
    assert broken.status_code == 422 and broken.json()["said"]
    assert Client().post("/bay/codes/").status_code == 302
