"""One car, through the real pages: from first start to the public page by the address in the QR."""

import io
import re

import pytest

from shop.demo.photos import edge_photo
from tests.journeys.floor import Bay

pytestmark = pytest.mark.journey

PINS = {"Petra": "719304", "Ines": "482915", "Jonas": "615028", "Marek": "350761"}
VIN = "ZZZPP41L5TR041720"


def sign_in(page, served):
    page.goto(f"{served.url}/sign-in/")
    page.fill("[name=name]", "Petra")
    page.fill("[name=password]", "harbour-lamp-7")
    page.press("[name=password]", "Enter")
    page.wait_for_url(f"{served.url}/bay/")


def send(page):
    with page.expect_navigation():
        page.locator(
            "main form button[type=submit], main form button:not([type]), .signbar button"
        ).last.click()


def first_start(page, served):
    page.goto(served.url)
    page.wait_for_url("**/first-start/")
    page.fill("[name=name]", "Quay Street Film Works")
    page.fill("[name=address]", "4 Quay Street\nHarbourton")
    page.select_option("[name=country]", "ES")
    page.select_option("[name=zone]", "Europe/Madrid")
    page.fill("[name=owner_name]", "Petra")
    page.fill("[name=password]", "harbour-lamp-7")
    page.fill("[name=pin]", PINS["Petra"])
    send(page)


def people_and_tablet(page, served) -> str:
    for name, role in (("Ines", "installer"), ("Jonas", "installer"), ("Marek", "inspector")):
        page.goto(f"{served.url}/people/new/")
        page.fill("[name=name]", name)
        page.check(f"[name=roles][value={role}]")
        page.fill("[name=pin]", PINS[name])
        send(page)
    page.goto(f"{served.url}/tablets/")
    page.fill("main [name=name]", "Bay tablet")
    send(page)
    found = re.search(r"https?://[^\s\"<]+/enrol/[^\s\"<]+", page.content())
    return found.group(0)


def stock(page, served):
    page.goto(f"{served.url}/film-room/rolls/new/")
    fields = {
        "name": "Harbour coat 165",
        "colour": "deep teal",
        "lot": "L-2209",
        "roll": "R-118",
        "width": "1520",
        "length": "15000",
        "received_on": "2026-02-20",
        "expires_on": "2028-02-20",
    }
    for name, value in fields.items():
        page.fill(f"main [name={name}]", value)
    page.locator("main [name=finish]").first.fill("gloss")
    send(page)
    for kind in ("primer", "slip", "tack"):
        page.goto(f"{served.url}/film-room/lots/new/")
        page.locator(f"main [name=kind][value={kind}], main select[name=kind]").first.evaluate(
            "(field, kind) => { if (field.tagName === 'SELECT') field.value = kind; else field.checked = true }",
            kind,
        )
        page.fill("main [name=name]", f"Harbour {kind}")
        page.fill("main [name=lot]", f"{kind[0].upper()}-7")
        page.fill("main [name=received_on]", "2026-02-20")
        page.fill("main [name=expires_on]", "2027-02-20")
        send(page)


def draw_signature(page):
    pad = page.locator("[data-pad-sheet]").last
    pad.scroll_into_view_if_needed()
    box = pad.bounding_box()
    page.mouse.move(box["x"] + 40, box["y"] + box["height"] / 2)
    page.mouse.down()
    for step in range(1, 12):
        page.mouse.move(box["x"] + 40 + step * 18, box["y"] + box["height"] / 2 + (-1) ** step * 26)
    page.mouse.up()


def take_in(page, served) -> int:
    page.goto(f"{served.url}/cars/new/")
    page.fill("[name=name]", "Łukasz Żak")
    page.fill("[name=phone]", "+34 600 123 456")
    page.fill("[name=vin]", VIN.lower())
    page.fill("[name=plate]", "QS 12 ABC")
    page.select_option("[name=body]", "sedan")
    page.fill("[name=model]", "four-door sedan")
    page.fill("[name=colour]", "grey")
    page.fill("[name=odometer]", "41200")
    send(page)
    job = int(re.search(r"/cars/(\d+)/", page.url).group(1))
    page.goto(f"{served.url}/cars/{job}/intake/")
    page.locator("svg [data-panel=door-front-left]").first.click()
    page.select_option("[name=mark-panel]", "door-front-left")
    page.select_option("[name=mark-kind]", "scratch")
    page.set_input_files(
        "[name=mark-photo]",
        {"name": "scratch.jpg", "mimeType": "image/jpeg", "buffer": edge_photo("mark", "scratch")},
    )
    page.get_by_role("button", name="Keep this mark").click()
    page.wait_for_load_state()
    assert "scratch" in page.content().lower()
    draw_signature(page)
    with page.expect_navigation():
        page.get_by_role("button", name="Keep the signature").click()
    return job


def set_out(page, served, job: int):
    page.goto(f"{served.url}/cars/{job}/set-out/")
    page.locator("svg [data-panel=hood]").first.click()
    assert page.locator("[name=panels][value=hood]").is_checked()
    for name in ("Ines", "Jonas"):
        page.get_by_label(name).check()
    page.locator("select[name=roll]").select_option(index=1)
    with page.expect_navigation():
        page.get_by_role("button", name="Set out the chosen").click()
    page.goto(f"{served.url}/cars/{job}/set-out/hood/")
    page.locator("svg [data-edge=front]").first.click()
    assert "hood" in page.content().lower()


def test_one_car_from_first_start_to_the_public_page(served, browser):
    desk = browser.new_context(viewport={"width": 1440, "height": 900})
    page = desk.new_page()
    first_start(page, served)
    if "/sign-in/" in page.url:
        sign_in(page, served)
    enrol = people_and_tablet(page, served)
    stock(page, served)
    job = take_in(page, served)
    set_out(page, served, job)

    tablet = browser.new_context(viewport={"width": 1194, "height": 834}, has_touch=True)
    bay = Bay(tablet.new_page(), served, job)
    bay.page.goto(enrol)
    bay.page.wait_for_url(f"{served.url}/bay/")
    for stage in ("wash", "decontaminate", "degrease", "primer"):
        bay.work("hood.1", stage)
    bay.sign("ready", "Ines", PINS["Ines"])
    served.pass_time(minutes=5)
    bay.work("hood.1", "tack")
    bay.work("hood.1", "seal")
    bay.sign("hidden", "Marek", PINS["Marek"])
    bay.work("hood.1", "steam")
    bay.sign("laid", "Jonas", PINS["Jonas"])
    served.pass_time(hours=1)
    bay.read_cure("hood.1")
    served.pass_time(hours=24)
    bay.who = "Marek"
    bay.work("hood.1", "cure")
    bay.sign("released", "Marek", PINS["Marek"])

    sign_in(page, served)
    page.goto(f"{served.url}/cars/{job}/hand-over/")
    draw_signature(page)
    page.fill("[name=pin]", PINS["Petra"])
    page.get_by_role("button", name="Hand over").click()
    page.wait_for_url("**/certificate/")
    page.fill("main [name=pin]", PINS["Petra"])
    with page.expect_navigation():
        page.locator("main form button").last.click()
    check_url = address_in_the_qr(page, served, job)

    stranger = browser.new_context(viewport={"width": 390, "height": 844})
    phone = stranger.new_page()
    phone.goto(check_url)
    words = phone.locator("body").inner_text()
    assert "Real, and" in words and "in force" in words
    assert "Hood" in words and VIN[-4:] in words
    for secret in ("Łukasz", "Żak", "600 123 456", VIN, "QS 12 ABC"):
        assert secret not in phone.content()


def address_in_the_qr(page, served, job: int) -> str:
    """What a phone reads from the printed paper."""
    import subprocess

    import zxingcpp
    from PIL import Image

    answer = page.request.get(f"{served.url}/cars/{job}/certificate/1.pdf")
    assert answer.status == 200 and answer.body()[:5] == b"%PDF-"
    done = subprocess.run(
        ["pdftoppm", "-r", "150", "-f", "1", "-l", "1", "-png", "-"],
        input=answer.body(),
        capture_output=True,
        check=True,
    )
    codes = zxingcpp.read_barcodes(Image.open(io.BytesIO(done.stdout)))
    assert len(codes) == 1
    scanned = codes[0].text
    assert scanned.upper().startswith(served.url.upper())
    return scanned
