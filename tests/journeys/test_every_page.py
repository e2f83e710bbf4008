"""Every page of the route list in a browser: nothing for axe to object to, nothing wider than the window."""

from datetime import datetime

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.demo_on_disk import AS_OF
from tests.journeys.conftest import Served
from tests.journeys.walk import NOT_PAGES, prepare
from tests.test_doors import ROUTES

pytestmark = pytest.mark.journey

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
def seen(walk, browser):
    """Each page once: {name: (status, what axe objects to, {width: pixels too wide}, what the console says)}."""
    server, found = walk
    pages, axe = {}, Axe()
    for who, cookies in found.cookies.items():
        context = browser.new_context(viewport={"width": 1440, "height": 900}, service_workers="block")
        context.add_cookies([{"name": k, "value": v, "url": server.url} for k, v in cookies.items()])
        page, said = context.new_page(), []
        page.on(
            "console",
            lambda message, said=said: said.append(message.text) if message.type == "error" else None,
        )
        page.on("pageerror", lambda error, said=said: said.append(str(error)))
        for stop in (stop for stop in found.stops if stop.who == who):
            said.clear()
            answer = page.goto(server.url + stop.url)
            objections = axe.run(page, options=RULES).response["violations"]
            wide = {}
            for width in WIDTHS:
                page.set_viewport_size({"width": width, "height": 900})
                wide[width] = page.evaluate(WIDER)
            pages[stop.name] = answer.status, list(map(told, objections)), wide, list(said)
        context.close()
    return pages


def told(objection: dict) -> str:
    nodes = objection["nodes"]
    return f"{objection['id']} ×{len(nodes)}: {nodes[0]['html'][:160]} – {nodes[0]['failureSummary'][:300]}"


def test_no_page_is_missing_from_the_walk(seen):
    assert sorted([*seen, *NOT_PAGES]) == sorted(ROUTES)


def test_what_is_no_page_says_so(walk, browser):
    server, found = walk
    context = browser.new_context()
    for stop in found.others:
        cookies = [{"name": k, "value": v, "url": server.url} for k, v in found.cookies[stop.who].items()]
        context.clear_cookies()
        context.add_cookies(cookies)
        answer = context.request.get(server.url + stop.url)
        assert answer.status == 200 and "html" not in answer.headers.get("content-type", ""), stop.name
    context.close()


def test_axe_is_awake(browser):
    page = browser.new_page()
    page.set_content(
        '<html lang="en"><title>x</title><main><h1>x</h1><img src="data:,"><input></main></html>'
    )
    found = {objection["id"] for objection in Axe().run(page, options=RULES).response["violations"]}
    page.close()
    assert {"image-alt", "label"} <= found


@pytest.mark.parametrize("name", [name for name in ROUTES if name not in NOT_PAGES])
def test_axe_objects_to_nothing(name, seen):
    status, objections, _, said = seen[name]
    assert status == (404 if name == "first-start" else 200)
    assert objections == []
    assert [text for text in said if "404" not in text] == []


@pytest.mark.parametrize("name", [name for name in ROUTES if name not in NOT_PAGES])
def test_no_page_is_wider_than_its_window(name, seen):
    assert {width: by for width, by in seen[name][2].items() if by > 0} == {}
