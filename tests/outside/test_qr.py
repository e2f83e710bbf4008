"""The QR of a printed certificate, read back from pictures of the page by another library.

zxing-cpp decodes what segno drew (ISO/IEC 18004): the round trip is the check.
"""

import io
import subprocess
from datetime import timedelta

import pytest
import zxingcpp
from PIL import Image, ImageFilter

from shop import printing
from shop.people.identity import Proven
from shop.warranty import actions, paper
from shop.warranty.shown import read_facts
from tests import make, make_finished

NOW = make_finished.HANDED_OVER + timedelta(minutes=10)


@pytest.fixture(scope="module")
def printed(django_db_setup, django_db_blocker):
    from django.db import transaction

    with django_db_blocker.unblock(), transaction.atomic():
        shop = make.workshop(public_url="https://film.example")
        done = make_finished.finished_job(shop, panels=(("hood", 1),), with_photos=False)
        revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
        data = printing.render(paper.put_together(revision))
        told = read_facts(revision.facts)["address"], revision.certificate.token
        transaction.set_rollback(True)
    return data, *told


def page(data: bytes, dpi: int) -> Image.Image:
    told = subprocess.run(
        ["pdftoppm", "-png", "-r", str(dpi), "-f", "1", "-l", "1", "-"],
        input=data,
        capture_output=True,
        check=True,
    )
    return Image.open(io.BytesIO(told.stdout)).convert("L")


def read(image: Image.Image) -> list[str]:
    return [found.text for found in zxingcpp.read_barcodes(image)]


@pytest.mark.parametrize("dpi", [72, 100, 150, 300])
def test_it_says_the_address_of_the_check_page(printed, dpi):
    data, address, token = printed
    assert read(page(data, dpi)) == [address["scan"]]
    assert address["scan"] == f"HTTPS://FILM.EXAMPLE/CHECK/{token}/"


def test_it_is_alphanumeric_and_of_level_q(printed):
    data, _, _ = printed
    [found] = zxingcpp.read_barcodes(page(data, 150))
    assert found.format == zxingcpp.BarcodeFormat.QRCode
    assert found.ec_level == "Q"


@pytest.mark.parametrize("turned", [7, 90, 180])
def test_it_reads_turned(printed, turned):
    data, address, _ = printed
    image = page(data, 150).rotate(turned, expand=True, fillcolor=255)
    assert read(image) == [address["scan"]]


def test_it_reads_blurred(printed):
    data, address, _ = printed
    assert read(page(data, 150).filter(ImageFilter.GaussianBlur(1.5))) == [address["scan"]]


def test_it_stands_a_stain(printed):
    """Level Q mends a quarter of the code: a blot over a tenth of it is nothing."""
    data, address, _ = printed
    image = page(data, 150)
    [found] = zxingcpp.read_barcodes(image)
    left, top = found.position.top_left.x, found.position.top_left.y
    side = found.position.bottom_right.x - left
    blot = int(side * 0.3)
    image.paste(0, (left + side // 2, top + side // 2, left + side // 2 + blot, top + side // 2 + blot))
    assert read(image) == [address["scan"]]


@pytest.mark.django_db
def test_the_address_leads_to_the_page(client):
    done = make_finished.finished_job(
        make.workshop(public_url="http://testserver"), panels=(("hood", 1),), with_photos=False
    )
    revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
    [scanned] = read(page(printing.render(paper.put_together(revision)), 150))
    assert scanned.startswith("HTTP://TESTSERVER/")
    answer = client.get(scanned.removeprefix("HTTP://TESTSERVER"))
    assert answer.status_code == 200
    assert revision.certificate.number in answer.content.decode()
