"""From intake to the certificate without a pointer: every step reached by Tab, done by keys."""

import re
from datetime import datetime

import pytest

from tests.demo_on_disk import AS_OF
from tests.journeys.conftest import Served
from tests.journeys.walk import prepare

pytestmark = pytest.mark.journey
FOCUSED = "(wanted) => !!document.activeElement && document.activeElement.matches(wanted)"


@pytest.fixture(scope="module")
def shop(demo_on_disk, tmp_path_factory, django_db_blocker):
    copy = demo_on_disk.copy(tmp_path_factory.mktemp("keys") / "data")
    with copy.opened(django_db_blocker):
        found = prepare()
    server = Served(copy.data)
    server.at(datetime.fromisoformat(f"{AS_OF}T16:00:00+02:00"))
    yield server, found.cookies, copy.told
    server.stop()


class Keys:
    """A page, and hands that know nothing but keys."""

    def __init__(self, browser, server, cookies, **size):
        context = browser.new_context(viewport=size, reduced_motion="reduce")
        context.add_cookies([{"name": k, "value": v, "url": server.url} for k, v in cookies.items()])
        self.page, self.url = context.new_page(), server.url

    def open(self, address: str) -> None:
        self.page.goto(self.url + address)

    def reach(self, wanted: str, presses: int = 140) -> "Keys":
        """By Tab alone, from wherever the focus is."""
        for _ in range(presses):
            if self.page.evaluate(FOCUSED, wanted):
                return self
            self.page.keyboard.press("Tab")
        raise AssertionError(f"{wanted} is not reached by Tab on {self.page.url}")

    def press(self, *keys: str) -> "Keys":
        for key in keys:
            self.page.keyboard.press(key)
        return self

    def type(self, wanted: str, text: str) -> None:
        self.reach(wanted)
        self.page.keyboard.insert_text(text)

    def go(self, wanted: str, key: str = "Enter") -> None:
        self.reach(wanted)
        with self.page.expect_navigation():
            self.page.keyboard.press(key)

    def choose(self, wanted: str, letters: str) -> None:
        self.reach(wanted)
        self.page.keyboard.type(letters)

    def sign_on_pad(self) -> None:
        self.reach("[data-pad-sheet]").press(
            "Space", *["ArrowRight", "ArrowUp", "ArrowRight", "ArrowDown"] * 4
        )
        self.press("Space")
        assert self.page.locator("[data-strokes]").first.input_value().count("[") > 8


@pytest.fixture(scope="module")
def desk(shop, browser):
    server, cookies, _ = shop
    return Keys(browser, server, cookies["owner"], width=1440, height=900)


def test_a_car_comes_in_and_is_set_out_by_keys(desk):
    desk.open("/cars/new/")
    for name, text in (
        ("name", "Ewa Wójcik"), ("phone", "+34 600 111 222"), ("vin", "ZZZPP41L5TR041720"),
        ("plate", "QS 12 ABC"), ("model", "four-door sedan"), ("colour", "grey"),
    ):  # fmt: skip
        desk.type(f"main [name={name}]", text)
    desk.go(".signbar button")
    job = re.search(r"/cars/(\d+)/", desk.page.url).group(1)
    desk.open(f"/cars/{job}/intake/")
    desk.choose("[name=mark-panel]", "Hood")
    desk.choose("[name=mark-kind]", "Scratch")
    desk.page.keyboard.press("Shift+Tab")
    mark = desk.page.locator("[name=mark-x_mil]")
    before = int(mark.input_value())
    back_to_the_sheet(desk).press("ArrowRight", "ArrowRight", "ArrowUp")
    assert int(mark.input_value()) == before + 20
    desk.go("[data-new-mark] button[type=submit], [data-new-mark] .act")
    assert desk.page.locator("[data-mark-row]").count() == 1
    desk.sign_on_pad()
    desk.go("#agree form button:not([data-pad-clear])")
    desk.go(".signbar a.act")
    desk.reach("svg [data-panel=roof]").press("Space")
    assert desk.page.locator("[name=panels][value=roof]").is_checked()
    desk.go(".signbar button")
    assert "Roof" in desk.page.locator("main").inner_text()


def back_to_the_sheet(keys: Keys) -> Keys:
    """The fresh mark stands on the drawing, before the form: backwards to it."""
    for _ in range(60):
        if keys.page.evaluate(FOCUSED, ".mark-fresh"):
            return keys
        keys.page.keyboard.press("Shift+Tab")
    raise AssertionError("The new mark is not reached by keys.")


def test_a_stage_is_answered_and_its_states_are_said(shop, browser):
    server, cookies, told = shop
    bay = Keys(browser, server, cookies["tablet"], width=1194, height=834)
    job = told["cars"][1]["job"]
    bay.open(f"/bay/{job}/hood.1/decontaminate/")
    bay.page.wait_for_selector("[data-waiting]", state="attached")
    row = bay.page.locator("main .row[data-line]").first
    bay.reach("main .row[data-line] [data-answer=done]").press("Enter")
    row.locator("[data-answer=done][aria-pressed=true]").wait_for()
    assert bay.page.locator(".waiting[role=status]").count() == 1
    bay.reach(".signbar a[href*=sign], .signbar button")
    assert small_targets(bay.page) == []


def test_the_certificate_is_read_by_keys(desk, shop):
    job = shop[2]["cars"][0]["job"]
    desk.open(f"/cars/{job}/certificate/")
    desk.reach("main a[href$='.pdf']")
    outline = desk.page.evaluate("() => getComputedStyle(document.activeElement).outlineWidth")
    assert float(outline.removesuffix("px")) >= 3


def small_targets(page, least: int = 44) -> list[str]:
    """Buttons, links that stand alone and fields under the least size; links inside a sentence are let off."""
    return page.evaluate(
        """(least) => [...document.querySelectorAll('button, a.act, main summary, .answer, input:not([type=hidden])')]
            .filter((each) => each.checkVisibility() && !each.matches('.photo-input, .unseen'))
            .map((each) => [each, (each.labels?.[0] ?? each).getBoundingClientRect()])
            .filter(([each, box]) => box.height && (box.height < least || box.width < least))
            .map(([each, box]) => `${each.outerHTML.slice(0, 90)} ${box.width}×${box.height}`)""",
        least,
    )


def test_a_defect_is_placed_by_touch_and_by_keys(shop, browser):
    server, cookies, told = shop
    bay = Keys(browser, server, cookies["tablet"], width=1194, height=834)
    job = told["cars"][1]["job"]
    bay.open(f"/bay/{job}/hood.1/wash/wrong/")
    bay.page.wait_for_selector("[data-waiting]", state="attached")
    sheet = bay.page.locator(".drawing-hold svg").bounding_box()
    bay.page.mouse.click(sheet["x"] + sheet["width"] * 0.4, sheet["y"] + sheet["height"] * 0.5)
    x, y = (bay.page.locator(f"[name={name}]") for name in ("x_mil", "y_mil"))
    touched = int(x.input_value()), int(y.input_value())
    assert 250 < touched[0] < 500 and 350 < touched[1] < 650
    bay.page.set_viewport_size({"width": 600, "height": 834})
    back_to_the_sheet(bay.reach("[data-place]")).press("ArrowRight", "ArrowDown")
    assert (int(x.input_value()), int(y.input_value())) == (touched[0] + 10, touched[1] + 10)
    bay.reach("[data-defect] button[type=submit]")
    with bay.page.expect_navigation():
        bay.page.keyboard.press("Enter")
    drawn = bay.page.locator(".drawing-hold .mark-damage")
    for _ in range(60):
        if drawn.count():
            break
        bay.page.wait_for_timeout(250)
        bay.page.reload()
    assert drawn.count() == 1
