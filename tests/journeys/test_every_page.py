"""Every page of the route list in a browser: nothing for axe to object to, nothing wider than the window."""

from dataclasses import dataclass
from datetime import datetime

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Error

from tests.demo_on_disk import AS_OF
from tests.journeys.conftest import Served
from tests.journeys.walk import prepare
from tests.test_doors import ROUTES

# In one process: the walk over all pages is done once.
pytestmark = [pytest.mark.journey, pytest.mark.xdist_group("every-page")]

RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
    "resultTypes": ["violations"],
}
WIDTHS = (320, 820, 1440)
WIDER = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture(scope="module")
def walk(demo_on_disk, tmp_path_factory, django_db_blocker):
    copy = demo_on_disk.copy(tmp_path_factory.mktemp("walk") / "data")
    with copy.opened(django_db_blocker):
        found = prepare()
    server = Served(copy.data)
    server.at(datetime.fromisoformat(f"{AS_OF}T16:00:00+02:00"))
    yield server, found
    server.stop()


@pytest.fixture(scope="module")
def browser(walk, browser):
    """Begun after the walk, whichever test comes first: Playwright's loop bars Django's database."""
    return browser


@pytest.fixture(scope="module")
def seen(walk, browser):
    """Each page once, by its name."""
    server, found = walk
    pages = {}
    for who, cookies in found.cookies.items():
        look = Look(browser, server, cookies)
        for stop in (stop for stop in found.stops if stop.who == who):
            pages[stop.name] = look.at(stop.url)
        look.close()
    return pages


@dataclass(frozen=True)
class Seen:
    """`wide`: by how many pixels the page is wider than each window. `said`: errors on the console."""

    status: int
    objections: list[str]
    wide: dict[int, int]
    said: list[str]


class Look:
    """One visitor's eyes."""

    def __init__(self, browser, server, cookies=None, **kind):
        self.context = browser.new_context(
            viewport={"width": 1440, "height": 900}, service_workers="block", **kind
        )
        jar = [{"name": k, "value": v, "url": server.url} for k, v in (cookies or {}).items()]
        self.context.add_cookies(jar)
        self.page, self.url, self.said, self.axe = self.context.new_page(), server.url, [], Axe()
        self.page.on("console", self._hear)
        self.page.on("pageerror", lambda error: self.said.append(str(error)))

    def _hear(self, message) -> None:
        if message.type == "error":
            self.said.append(message.text)

    def at(self, address: str) -> "Seen | str":
        """What is seen there; of a file or an answer to a machine its kind alone."""
        self.said.clear()
        try:
            answer = self.page.goto(self.url + address, timeout=90_000)
        except Error as refused:
            # A file that is offered to be kept never becomes a page.
            assert "Download is starting" in refused.message or "ERR_ABORTED" in refused.message, address
            return self.context.request.get(self.url + address).headers["content-type"]
        kind = answer.headers.get("content-type", "")
        if not kind.startswith("text/html"):
            return kind
        objections = self.axe.run(self.page, options=RULES).response["violations"]
        wide = {}
        for width in WIDTHS:
            self.page.set_viewport_size({"width": width, "height": 900})
            wide[width] = self.page.evaluate(WIDER)
        too_wide = {width: by for width, by in wide.items() if by > 0}
        return Seen(answer.status, list(map(told, objections)), too_wide, list(self.said))

    def close(self) -> None:
        self.context.close()


def told(objection: dict) -> str:
    nodes = objection["nodes"]
    return f"{objection['id']} ×{len(nodes)}: {nodes[0]['html'][:160]} – {nodes[0]['failureSummary'][:300]}"


def test_no_address_is_missing_from_the_walk(seen):
    assert sorted(seen) == sorted(ROUTES)


def test_what_is_no_page_is_a_file_or_an_answer_to_a_machine(seen):
    files = {name: kind for name, kind in seen.items() if isinstance(kind, str)}
    assert {"health", "photo", "certificate-pdf"} <= set(files)
    assert not [name for name, kind in files.items() if "html" in kind or not kind]
    assert len(files) < len(seen) / 3


def test_axe_is_awake(browser):
    page = browser.new_page()
    page.set_content(
        '<html lang="en"><title>x</title><main><h1>x</h1><img src="data:,"><input></main></html>'
    )
    found = {objection["id"] for objection in Axe().run(page, options=RULES).response["violations"]}
    page.close()
    assert {"image-alt", "label"} <= found


@pytest.mark.parametrize("name", ROUTES)
def test_axe_objects_to_nothing(name, seen):
    page = seen[name]
    if isinstance(page, Seen):
        assert page.status == (404 if name == "first-start" else 200)
        assert page.objections == []
        assert [text for text in page.said if "404" not in text] == []


@pytest.mark.parametrize("name", ROUTES)
def test_no_page_is_wider_than_its_window(name, seen):
    page = seen[name]
    assert isinstance(page, str) or page.wide == {}


# ------------------------------------------------------------------ a shop with nothing in it


EMPTY = [row["url"] for row in ROUTES.values() if "<" not in row["url"] and row["answers"]["owner"] == 200]


def test_an_empty_shop_at_night(browser, tmp_path):
    """The first start and every page that needs no thing to be about, before there is any, in the dark theme."""
    server = Served(tmp_path / "data")
    look = Look(browser, server, color_scheme="dark")
    wrong = {}
    try:
        first = look.at("/first-start/")
        begin(look.page, server.url)
        for url, page in {"/first-start/": first, **{url: look.at(url) for url in EMPTY}}.items():
            if isinstance(page, Seen) and (page.objections or page.wide or page.status != 200):
                wrong[url] = page
    finally:
        look.close()
        server.stop()
    assert wrong == {}


def begin(page, url: str) -> None:
    page.goto(f"{url}/first-start/")
    for name, text in (
        ("name", "Quay Street Film Works"), ("address", "4 Quay Street"), ("owner_name", "Petra"),
        ("password", "harbour-lamp-7"), ("pin", "719304"),
    ):  # fmt: skip
        page.fill(f"[name={name}]", text)
    page.select_option("[name=country]", "ES")
    page.select_option("[name=zone]", "Europe/Madrid")
    with page.expect_navigation():
        page.press("[name=pin]", "Enter")
    if "/sign-in/" in page.url:
        page.fill("[name=name]", "Petra")
        page.fill("[name=password]", "harbour-lamp-7")
        with page.expect_navigation():
            page.press("[name=password]", "Enter")
