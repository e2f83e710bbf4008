"""A claim from the call to the released repair, through the real pages: the desk, then the tablet in the bay."""

import json
import os
import re
import subprocess
import sys
from datetime import datetime

import pytest

from shop.demo.photos import edge_photo
from tests.journeys.conftest import ROOT
from tests.journeys.floor import Bay

pytestmark = pytest.mark.journey
PLACE = "mirror-left.1"
A_DAY_LATER = "2026-09-14T09:00:00+02:00"


@pytest.fixture
def told(served) -> dict:
    """Six months after the car left."""
    environment = {
        **os.environ,
        "SHOP_DATA": str(served.folder),
        "PYTHONPATH": str(ROOT),
        "SHOP_URL": served.url,
    }
    done = subprocess.run(
        [sys.executable, str(ROOT / "tests" / "journeys" / "covered.py")],
        cwd=ROOT, env=environment, capture_output=True, text=True, check=True,
    )  # fmt: skip
    served.at(datetime.fromisoformat(A_DAY_LATER))
    return json.loads(done.stdout)


def photo(words: str) -> dict:
    return {"name": "edge.jpg", "mimeType": "image/jpeg", "buffer": edge_photo(f"claim {words}", words)}


def press(page, name: str) -> None:
    with page.expect_navigation():
        page.get_by_role("button", name=name, exact=True).click()
    refused = page.locator("main [role=alert]").all_inner_texts()
    assert refused == [], refused


def waits(page) -> str:
    return page.locator("[data-waits]").first.get_attribute("data-waits")


def report(page, told) -> None:
    page.goto(f"/life/{told['vehicle']}/")
    page.get_by_role("link", name="A fault is reported").click()
    page.wait_for_url("**/claims/new/**")
    page.locator("svg [data-panel=mirror-left]").first.click()
    page.wait_for_url("**panel=mirror-left")
    assert "do not press, peel or heat" in page.locator(".claim-caution").inner_text()
    page.select_option("[name=place]", f"{PLACE}@foot")
    page.select_option("[name=symptom]", "lifted_edge")
    page.fill("[name=noticed_on]", "2026-09-11")
    page.fill("[name=told_on]", "2026-09-14")
    page.fill("[name=caller]", "It stands off at the foot since the weekend.")
    page.set_input_files("[name=photos]", photo("with a ruler"))
    press(page, "Take it down")


def look_and_decide(page, told) -> None:
    assert waits(page) == "glue_side"
    page.get_by_role("link", name="Glue side", exact=True).click()
    page.locator("[name=reading]").first.check()
    page.set_input_files("[name=photos]", photo("glue side"))
    press(page, "Keep the reading")
    page.get_by_role("link", name="Ask the supplier").click()
    page.fill("[name=asked]", "May we strip it?")
    press(page, "Wait for the supplier")
    assert waits(page) == "supplier" and "leave it on" in page.locator("main").inner_text()
    page.get_by_role("link", name="Supplier answered").click()
    page.locator("[name=answer][value=agreed]").check()
    press(page, "Take it down")
    assert waits(page) == "decision"
    page.get_by_role("link", name="Decide", exact=True).click()
    page.locator("[name=outcome][value=accept]").check()
    page.select_option("[name=clause]", "covered.edges")
    page.fill("[name=reason]", "The edge let go at the foot within the year: our work.")
    page.fill("[name=shop_pct]", "100")
    page.fill("[name=pin]", told["pin"])
    press(page, "Decide and print the letter")
    assert waits(page) == "repair"
    letter = page.request.get(page.url + "letter/1.pdf")
    assert letter.status == 200 and letter.body()[:5] == b"%PDF-"


def set_the_repair_out(page, told) -> int:
    claim = page.url
    page.get_by_role("link", name="Set the repair out").click()
    page.get_by_role("link", name="Take the car in").click()
    page.fill("[name=name]", "Ana Berg")
    page.fill("[name=odometer]", "48900")
    press(page, "Take the car in")
    job = int(re.search(r"/cars/(\d+)/", page.url).group(1))
    page.goto(claim)
    page.get_by_role("link", name="Set the repair out").click()
    page.locator("[name=from_stage][value=seal]").check()
    press(page, "Set it out")
    page.wait_for_url("**/set-out/mirror-left/")
    page.get_by_label(told["ines"]).first.check()
    press(page, "Keep")
    page.goto(claim)
    assert waits(page) == "release"
    return job


def put_right(served, browser, told, job: int) -> None:
    tablet = browser.new_context(viewport={"width": 1194, "height": 834}, has_touch=True)
    bay = Bay(tablet.new_page(), served, job)
    bay.page.goto(f"{served.url}/enrol/{told['tablet']}/")
    bay.page.wait_for_url(f"{served.url}/bay/")
    bay.who = told["ines"]
    bay.work(PLACE, "seal")
    if bay.page.get_by_role("link", name="Hidden edges").count():
        bay.sign("hidden", told["marek"], told["pin"], place=PLACE)
    bay.work(PLACE, "steam")
    bay.sign("laid", told["ines"], told["pin"], place=PLACE)
    served.pass_time(hours=1)
    bay.read_cure(PLACE)
    served.pass_time(hours=24)
    bay.who = told["marek"]
    bay.work(PLACE, "cure")
    bay.sign("released", told["marek"], told["pin"], place=PLACE)
    tablet.close()


def test_a_claim_from_the_call_to_the_released_repair(served, told, browser):
    desk = browser.new_context(viewport={"width": 1440, "height": 900}, base_url=served.url)
    page = desk.new_page()
    page.goto("/sign-in/")
    page.fill("[name=name]", told["dora"])
    page.fill("[name=password]", "harbour lights 7")
    page.press("[name=password]", "Enter")
    page.wait_for_url("**/bay/")
    report(page, told)
    claim = page.url
    look_and_decide(page, told)
    job = set_the_repair_out(page, told)
    put_right(served, browser, told, job)
    page.goto(claim)
    assert waits(page) == "put_right"
    page.goto("/claims/")
    assert page.locator("[data-waits=put_right]").count() == 1
    desk.close()
