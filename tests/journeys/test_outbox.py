"""The tablet against a network that fails in every way it can, and a killed browser: nothing lost, nothing twice."""

import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from datetime import timedelta
from pathlib import Path

import pytest

from tests import make
from tests.journeys.conftest import ROOT, Served, chromium_path
from tests.photos import pictures

pytestmark = pytest.mark.journey

VIEW = {"width": 1194, "height": 834}
CARS = 30


class Floor:
    """One car of the served shop from the tablet's side: pages to open, rows to count."""

    def __init__(self, served, people, car):
        self.served, self.people = served, people
        self.job, self.tablets = car["job"], car["tablets"]
        # No two cars have the same photo: the second would be refused as used before.
        self.picture = pictures.jpeg(seed=self.job)

    def cookie(self, tablet=0):
        value = self.tablets[tablet]["cookie"]
        return [{"name": "tablet", "value": value, "url": self.served.url}]

    def address(self, place="hood.1", stage="wash"):
        return f"{self.served.url}/bay/{self.job}/{place}/{stage}/"

    def ask(self, sql, *values):
        with sqlite3.connect(self.served.folder / "shop.sqlite3") as rows:
            return rows.execute(sql, values).fetchall()

    def answers(self, line="wash.gaps_rinsed"):
        return [row[0] for row in self.outcomes(line)]

    def outcomes(self, line):
        found = """select o.answer, o.reason from shop_outcome o join shop_entry e on e.id = o.entry_id
                   join shop_book b on b.id = e.book_id where b.job_id = ? and o.key = ? order by o.id"""
        return self.ask(found, self.job, line)

    def photos(self):
        """Size of each photo that proves something on this car."""
        found = """select p.size from shop_photo p join shop_upload u on u.photo_id = p.id
                   where u.job_id = ? order by p.id"""
        return [row[0] for row in self.ask(found, self.job)]

    def numbers(self, tablet=0):
        pk = self.tablets[tablet]["id"]
        return [
            row[0] for row in self.ask("select seq from shop_receipt where tablet_id = ? order by seq", pk)
        ]


class Tablet:
    def __init__(self, floor, page):
        self.floor, self.page = floor, page

    def open(self, place="hood.1", stage="wash"):
        self.page.goto(self.floor.address(place, stage))
        self.page.locator("[data-waiting]").wait_for(state="attached")
        return self

    def row(self, line="wash.gaps_rinsed"):
        return self.page.locator(f"[data-line='{line}']:has([data-answer])").first

    def press(self, answer="done", line="wash.gaps_rinsed"):
        self.row(line).locator(f"[data-answer={answer}]").click()

    def is_pressed(self, answer="done", line="wash.gaps_rinsed"):
        button = self.row(line).locator(f"[data-answer={answer}]")
        return button.get_attribute("aria-pressed") == "true"

    def waiting(self):
        return int(self.page.locator("[data-waiting]").first.get_attribute("data-waiting"))

    def until(self, holds, seconds=12):
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if holds():
                return
            self.page.wait_for_timeout(50)
        raise AssertionError(f"Not within {seconds} s; {self.waiting()} waiting, said: {self.told()}")

    def kept(self, count):
        self.until(lambda: self.waiting() == count)

    def sent(self, seconds=12):
        self.until(lambda: self.waiting() == 0, seconds)

    def told(self):
        return self.page.locator(".told").all_inner_texts()

    def photograph(self, data, line="wash.hardware_off"):
        field = self.page.locator(f".row-photo[data-line='{line}'] input[type=file]").first
        field.set_input_files({"name": "edge.jpg", "mimeType": "image/jpeg", "buffer": data})

    def online(self):
        self.page.context.unroute_all(behavior="ignoreErrors")
        self.page.evaluate("dispatchEvent(new Event('online'))")


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """One server for all tests here; each takes a car of its own."""
    server = Served(tmp_path_factory.mktemp("shop") / "data")
    server.at(make.NOW + timedelta(hours=1))
    environment = {
        **os.environ, "SHOP_DATA": str(server.folder), "PYTHONPATH": str(ROOT),
        "DJANGO_SETTINGS_MODULE": "shop.settings",
    }  # fmt: skip
    script = [sys.executable, str(Path(__file__).parent / "stage.py"), str(CARS)]
    made = subprocess.run(script, cwd=ROOT, env=environment, capture_output=True, text=True, check=True)
    told = json.loads(made.stdout)
    yield server, told["people"], iter(told["cars"])
    server.stop()


@pytest.fixture
def floor(shop):
    server, people, cars = shop
    return Floor(server, people, next(cars))


@pytest.fixture
def tablet(floor, browser):
    context = browser.new_context(viewport=VIEW, has_touch=True)
    context.add_cookies(floor.cookie())
    context.add_init_script(f"localStorage.setItem('who', JSON.stringify({{id: {floor.people['Ines']}, "
                            "day: new Date().toLocaleDateString('sv')}))")  # fmt: skip
    yield Tablet(floor, context.new_page())
    context.close()


def away(route):
    route.abort("connectionrefused")


def portal(route):
    route.fulfill(
        status=200, content_type="text/html", body="<html><body>Welcome to our guest network</body></html>"
    )


def black_hole(route):
    """Takes the connection and never answers."""


def test_a_tick_is_shown_at_once_and_stands_after_a_reload(tablet, floor):
    tablet.open().press()
    assert tablet.is_pressed()
    tablet.sent()
    assert floor.answers() == ["done"]
    tablet.page.reload()
    assert tablet.is_pressed() and "Ines" in tablet.row().locator("[data-said]").inner_text()


@pytest.mark.parametrize("fault", [away, portal, black_hole])
def test_without_the_shop_everything_is_kept_and_goes_when_it_is_back(tablet, floor, fault):
    tablet.open()
    tablet.page.context.route("**/sync/**", fault)
    tablet.press()
    tablet.press("done", "wash.washed")
    tablet.photograph(floor.picture)
    tablet.kept(3)
    assert tablet.is_pressed() and tablet.is_pressed("done", "wash.washed")
    assert tablet.row().locator("[data-kept]").is_visible()
    assert floor.answers() == [] and tablet.told() == []
    # A reload of the page loses nothing either, whatever the shop says of the rows.
    tablet.page.reload()
    tablet.until(tablet.is_pressed)
    assert tablet.waiting() == 3
    tablet.online()
    tablet.sent()
    assert floor.answers() == ["done"] and floor.photos() == [len(floor.picture)]
    assert floor.numbers() == [1, 2, 3]


def test_a_reply_that_is_lost_is_asked_for_again(tablet, floor):
    tablet.open()
    lost = []

    def swallow(route):
        if route.request.method == "GET" or len(lost) >= 3:
            return route.continue_()
        route.fetch()
        lost.append(route.request.url)
        return route.abort("connectionreset")

    tablet.page.context.route("**/sync/**", swallow)
    tablet.press()
    tablet.press("done", "wash.washed")
    tablet.sent(30)
    assert len(lost) == 3 and floor.answers() == ["done"] and floor.answers("wash.washed") == ["done"]
    assert floor.numbers() == [1, 2]


def test_a_photo_goes_on_where_it_stopped(tablet, floor):
    """Each connection takes one piece and is cut; the photo needs four."""
    data = pictures.jpeg((3200, 2400), quality=92)
    assert len(data) > 3 * 512 * 1024
    tablet.open()
    sent = []

    def cut(route):
        if route.request.method != "PATCH":
            return route.continue_()
        sent.append(len(route.request.post_data_buffer or b""))
        route.fetch()
        return route.abort("connectionreset") if len(sent) % 2 else route.continue_()

    tablet.page.context.route("**/sync/upload/**", cut)
    tablet.photograph(data)
    tablet.until(lambda: sent)
    tablet.sent(60)
    assert floor.photos() == [len(data)]
    assert sum(sent) < 2.5 * len(data)


def test_a_double_tap_is_one_answer(tablet, floor):
    tablet.open()
    tablet.row().locator("[data-answer=done]").dblclick(delay=20)
    tablet.sent()
    tablet.page.wait_for_timeout(800)
    tablet.press()
    tablet.sent()
    assert floor.answers() == ["done"]


def test_not_here_asks_why_and_keeps_the_answer(tablet, floor):
    tablet.open().press("na")
    reason = tablet.page.locator("#why-not [data-reason-text]").first
    words = reason.inner_text()
    reason.click()
    tablet.sent()
    assert tablet.is_pressed("na")
    assert floor.outcomes("wash.gaps_rinsed") == [("na", words)]


def test_two_tablets_that_disagree(tablet, floor, browser):
    """Marek answers first while Ines is away; hers comes later, is not used, and she is told until she has read it."""
    other = browser.new_context(viewport=VIEW)
    other.add_cookies(floor.cookie(1))
    marek = Tablet(floor, other.new_page())
    tablet.open()
    tablet.page.context.route("**/sync/**", away)
    tablet.press()
    tablet.kept(1)

    marek.open()
    marek.page.locator("[data-who-open]").click()
    marek.page.locator(f"[data-who='{floor.people['Marek']}']").click()
    marek.press("na")
    marek.page.locator("#why-not [data-reason-text]").first.click()
    marek.sent()
    other.close()

    tablet.online()
    tablet.sent()
    tablet.until(tablet.told)
    (note,) = tablet.told()
    assert "Marek" in note and tablet.page.locator(".told [data-reason=answered_first]").count() == 1
    assert floor.answers() == ["na"]
    tablet.until(lambda: tablet.is_pressed("na"))
    tablet.page.reload()
    tablet.until(tablet.told)
    # Having seen his, she answers again: now it counts, and the note is settled with it.
    tablet.press()
    tablet.sent()
    tablet.until(lambda: not tablet.told())
    assert floor.answers() == ["na", "done"]


def test_a_refusal_stays_at_its_row_until_it_is_read(tablet, floor):
    tablet.open("hood.1", "decontaminate")
    tablet.press("done", "decontaminate.clay")
    tablet.until(tablet.told)
    note = tablet.row("decontaminate.clay").locator(".told")
    assert note.locator("[data-reason=stage_closed]").count() == 1 and tablet.waiting() == 0
    assert not tablet.is_pressed("done", "decontaminate.clay")
    tablet.page.reload()
    tablet.until(tablet.told)
    tablet.page.locator(".told button").click()
    tablet.until(lambda: not tablet.told())
    tablet.page.reload()
    tablet.page.wait_for_timeout(500)
    assert tablet.told() == []


def test_a_photo_that_is_none_is_refused_in_words(tablet, floor):
    tablet.open().photograph(pictures.jpeg((640, 480)))
    tablet.until(tablet.told)
    assert "640 × 480" in tablet.told()[0] and tablet.waiting() == 0
    assert floor.photos() == []


def test_what_is_typed_survives_a_refresh_and_a_reload(tablet, floor):
    tablet.open("hood.1", "degrease")
    form = tablet.page.locator("form[data-reading][data-line='degrease.climate']")
    field = form.locator("[name=air_c100]")
    field.press_sequentially("21.")
    # An answer elsewhere on the page brings the parts in afresh.
    tablet.page.evaluate("document.querySelector('[data-same-for-all]')?.blur()")
    tablet.press("done", "degrease.flange")
    tablet.sent()
    tablet.page.wait_for_timeout(600)
    field.press("End")
    field.press_sequentially("4")
    assert field.input_value() == "21.4"
    tablet.page.wait_for_timeout(600)
    tablet.page.reload()
    tablet.until(lambda: field.input_value() == "21.4")


def test_a_revoked_tablet_keeps_everything_and_says_so(tablet, floor):
    tablet.open()
    pk = floor.tablets[0]["id"]

    def revoke(at):
        with sqlite3.connect(floor.served.folder / "shop.sqlite3") as rows:
            rows.execute("update shop_tablet set revoked_at = ? where id = ?", (at, pk))

    revoke("2026-03-02 10:00:00")
    tablet.press()
    tablet.until(tablet.told)
    assert "enrolled again. Nothing on it is lost" in tablet.told()[0] and tablet.waiting() == 1
    revoke(None)
    tablet.online()
    tablet.sent()
    assert floor.answers() == ["done"] and tablet.told() == []


def test_a_wiped_tablet_goes_on_counting_where_the_shop_is(tablet, floor):
    tablet.open().press()
    tablet.sent()
    tablet.page.goto(f"{floor.served.url}/health/")
    tablet.page.evaluate(
        "new Promise((done) => { const gone = indexedDB.deleteDatabase('bay'); gone.onsuccess = done })"
    )
    tablet.open().press("done", "wash.washed")
    tablet.sent()
    assert floor.numbers() == [1, 2] and floor.answers("wash.washed") == ["done"]


def test_a_shop_put_back_from_a_backup_is_told_again(tablet, floor):
    database, backup = floor.served.folder / "shop.sqlite3", floor.served.folder / "backup.sqlite3"
    tablet.open().press()
    tablet.sent()
    with sqlite3.connect(database) as rows, sqlite3.connect(backup) as copy:
        rows.backup(copy)
    tablet.press("done", "wash.washed")
    tablet.sent()
    assert floor.numbers() == [1, 2]
    with sqlite3.connect(backup) as copy, sqlite3.connect(database) as rows:
        copy.backup(rows)
    assert floor.numbers() == [1]
    tablet.page.goto(floor.address("fender-left.1"))
    tablet.press("done", "wash.gaps_rinsed")
    tablet.sent()
    assert floor.numbers() == [1, 2, 3] and floor.answers("wash.washed") == ["done"]


def test_two_pages_of_one_tablet_send_without_holes_or_doubles(tablet, floor):
    second = Tablet(floor, tablet.page.context.new_page())
    tablet.open()
    second.open("fender-left.1")
    tablet.page.context.route("**/sync/**", away)
    tablet.press()
    second.press("done", "wash.gaps_rinsed")
    tablet.press("done", "wash.washed")
    tablet.kept(3)
    second.kept(3)
    tablet.page.context.unroute_all(behavior="ignoreErrors")
    for page in (tablet.page, second.page):
        page.evaluate("dispatchEvent(new Event('online'))")
    tablet.sent()
    second.sent()
    assert floor.numbers() == [1, 2, 3]


def test_signing_says_what_this_tablet_still_holds(tablet, floor):
    tablet.open()
    tablet.page.context.route("**/sync/**", away)
    tablet.press()
    tablet.kept(1)
    tablet.page.goto(f"{floor.served.url}/bay/{floor.job}/sign/ready/?panel=hood.1")
    tablet.until(lambda: tablet.waiting() == 1)
    for field in tablet.page.locator("form [name=unsent]").all():
        assert field.get_attribute("value") == "1"


def processes_of(folder: Path) -> list[int]:
    """The browser's processes, by the profile folder that only this test gave them."""
    found = []
    for entry in Path("/proc").iterdir():
        try:
            if entry.name.isdigit() and str(folder).encode() in (entry / "cmdline").read_bytes():
                found.append(int(entry.name))
        except OSError:
            continue
    return found


def test_a_killed_browser_has_kept_what_it_said_was_kept(floor, browser, tmp_path):
    """Killed right after the press: reopened, everything is there, whole, and arrives once."""
    profile = tmp_path / "profile"
    arguments = ["--disable-gpu"] + (["--no-sandbox"] if os.geteuid() == 0 else [])

    def opened(kind):
        context = kind.launch_persistent_context(
            str(profile), executable_path=chromium_path(), args=arguments, viewport=VIEW
        )
        context.add_cookies(floor.cookie())
        context.route("**/sync/**", away)
        return context, Tablet(floor, context.pages[0])

    context, tablet = opened(browser.browser_type)
    tablet.open().press()
    tablet.photograph(floor.picture)
    tablet.row().locator("[data-kept]").wait_for(state="visible")
    tablet.page.get_by_text("photo on this tablet, not sent yet").wait_for()
    for pid in processes_of(profile):
        os.kill(pid, signal.SIGKILL)
    time.sleep(1)
    for lock in profile.glob("Singleton*"):
        lock.unlink()
    context, tablet = opened(browser.browser_type)
    tablet.open()
    tablet.until(lambda: tablet.waiting() == 2)
    assert tablet.is_pressed() and floor.answers() == []
    tablet.online()
    tablet.sent()
    assert floor.answers() == ["done"] and floor.photos() == [len(floor.picture)]
    context.close()


def test_the_plain_digest_is_the_browsers_own(tablet, floor):
    """Pages without encryption have no digest of their own; ours has to be the same to the last bit."""
    tablet.open()
    tried = tablet.page.evaluate(
        """async () => {
            const { plainly, sha256 } = await import("/static/js/sha256.js")
            const lengths = [0, 1, 3, 55, 56, 57, 63, 64, 65, 119, 120, 128, 1000, 70001]
            return Promise.all(lengths.map(async (length) => {
                const bytes = crypto.getRandomValues(new Uint8Array(Math.min(length, 65536)))
                const whole = new Uint8Array(length)
                whole.set(bytes)
                return [length, plainly(whole.buffer), await sha256(whole.buffer)]
            }))
        }"""
    )
    assert all(ours == theirs and len(ours) == 64 for _, ours, theirs in tried)
    empty = {length: ours for length, ours, _ in tried}[0]
    assert empty == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
