"""How many touches an honest record costs: every press on our controls, from the first stage to the release."""

import json
import os
import re
import subprocess
import sys
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path

import pytest

from shop.demo.photos import edge_photo
from tests import make
from tests.journeys.conftest import ROOT, Served
from tests.journeys.floor import VALUES
from tests.journeys.front import PINS

pytestmark = pytest.mark.journey
HOOD = ["hood"]
FRONT = ["hood", "fender-left", "fender-right", "bumper-front", "mirror-left", "mirror-right"]
TYPED = VALUES | {"roll": "R-1", "primer_lot": "P-1", "slip_lot": "S-1", "tack_lot": "T-1"}
OPEN = """() => {
  if (document.querySelector('[data-next-to-lay]')) return {what: 'press', at: '[data-next-to-lay]'}
  const answered = (row) => row.querySelector('[data-answer][aria-pressed=true]')
  for (const at of document.querySelectorAll('main [data-edge-line], main [data-line][id], main [data-photo-many]')) {
    if (at.closest('[data-optional]')) continue
    if (at.matches('[data-photo-many]')) {
      const side = [...at.querySelectorAll('[data-side]')].find((label) => label.dataset.side.split(' ').some(
        (edge) => /no photo/.test(at.querySelector(`[data-photo-said="${edge}"]`).textContent)))
      if (side) return {what: 'side', at: `[data-photo-many] [data-side="${side.dataset.side}"]`}
    } else if (at.matches('[data-edge-line]')) {
      const all = at.querySelector('[data-all-edges]')
      const open = [...at.querySelectorAll('[data-edge][data-line]')].filter((row) => row.id && !answered(row))
      if (all && open.length) return {what: 'press', at: `[data-all-line="${at.dataset.edgeLine}"]`}
    } else if (at.matches('form[data-reading]')) {
      if (!answered(at)) return {what: 'fields', at: `form[id="${at.id}"]`}
    } else if (at.querySelector('[data-answer]') && !at.dataset.edge && !answered(at)) {
      if (at.querySelector('[data-answer=start], [data-answer=wrong]')) {
        const answer = at.querySelector('[data-answer=start]') ? 'start' : 'done'
        return {what: 'press', at: `[id="${at.id}"] [data-answer=${answer}]`}
      }
    } else if (at.querySelector('.row-photo')) {
      const said = at.querySelector('.row-photo [data-photo-said]').textContent
      if (/needs a photo/.test(said)) return {what: 'photo', at: `[id="${at.id}"] .row-photo label`}
    }
  }
  return null
}"""
FOCUSED = "(at) => document.activeElement === document.querySelector(at)"


@dataclass
class Count:
    lines: int
    fields: int = 0
    photos: int = 0
    signings: int = 0
    touches: int = 0
    pin_digits: int = 0
    stages: list[str] = field(default_factory=list)

    @property
    def bound(self) -> float:
        return 1.1 * (self.lines + self.fields + 2 * self.photos + 3 * self.signings)

    def __str__(self):
        return (
            f"{self.lines} lines asked, {self.fields} fields, {self.photos} photos, {self.signings} signings: "
            f"{self.touches} touches (at most {self.bound:.0f} by what was asked), {self.pin_digits} PIN digits apart"
        )


class Hands:
    """Whoever works at the glass. Each press is counted where it is made, and nowhere else."""

    def __init__(self, page, served, told):
        self.page, self.served, self.told, self.count = page, served, told, Count(told["lines"])
        self.flooded = 0

    def tap(self, wanted: str) -> None:
        self.count.touches += 1
        self.page.locator(wanted).locator("visible=true").first.click()

    def until(self, holds, seconds: float = 20) -> None:
        for _ in range(int(seconds * 20)):
            if holds():
                return
            self.page.wait_for_timeout(50)
        raise AssertionError(f"It did not come about on {self.page.url}.")

    def open_thing(self):
        return self.page.evaluate(OPEN)

    def work(self) -> None:
        """From page to page, wherever they go on to, until one asks for a signature or for nothing."""
        while re.search(r"/bay/\d+/[a-z-]+\.\d/", self.page.url):
            self.count.stages.append(self.page.url.split("/bay/")[1])
            self.stage()

    def painted(self) -> None:
        """Rows are marked once the page's own code is there; no person is faster than that."""
        self.page.wait_for_selector("main [data-line][data-after]", state="attached")

    def stage(self) -> None:
        url = self.page.url
        self.painted()
        while self.page.url == url:
            thing = self.open_thing()
            if thing is None:
                # All is answered: the page goes on when the shop has it all.
                return self.until(lambda: self.page.url != url)
            getattr(self, thing["what"])(thing["at"])
            self.until(lambda thing=thing: self.page.url != url or self.open_thing() != thing)
        return None

    def press(self, at: str) -> None:
        self.tap(at)
        if "flooding" in at:
            self.flooded += 1
            more = self.flooded < len(self.told["places"])
            self.until(lambda: bool(self.page.locator("[data-next-to-lay]").count()) == more)

    def fields(self, form: str) -> None:
        """All that is typed and kept together: Enter goes on, and the last one keeps, as the button would."""
        line = self.page.locator(form).get_attribute("data-line")
        together = f'form[data-reading][data-line="{line}"]'
        names = [
            f"[id='{one.get_attribute('id')}']"
            for one in self.page.locator(together).locator("input[name], select[name]").all()
            if not one.input_value()
        ]
        for wanted in names:
            if not self.page.evaluate(FOCUSED, wanted):
                self.tap(wanted)
            self.count.fields += 1
            name = self.page.locator(wanted).get_attribute("name")
            if name.endswith("_on"):
                self.page.locator(wanted).fill(TYPED[name])
            else:
                self.page.keyboard.insert_text(TYPED[name])
            self.page.keyboard.press("Enter")
        self.count.touches += 1
        self.until(
            lambda: (
                self.page.locator(together).locator("[data-answer=value][aria-pressed=false]").count() == 0
            )
        )

    def photo(self, at: str) -> None:
        self.count.photos += 1
        with self.page.expect_file_chooser() as chooser:
            self.tap(at)
        data = edge_photo(f"touch {self.count.photos}", self.told["places"][0])
        chooser.value.set_files({"name": "edge.jpg", "mimeType": "image/jpeg", "buffer": data})

    side = photo

    def sign(self) -> None:
        name = self.page.locator(".sign-people input:checked ~ span b").inner_text()
        # The PIN is typed without a touch.
        self.until(lambda: self.page.evaluate(FOCUSED, "#sign-pin"), 5)
        self.page.keyboard.type(PINS[name])
        self.count.pin_digits += len(PINS[name])
        self.count.signings += 1
        with self.page.expect_navigation():
            self.tap("form.sign button[type=submit]")
        said = (
            self.page.locator("[data-reason], .field-said").all_inner_texts()
            if "/sign/" in self.page.url
            else []
        )
        assert "/sign/" not in self.page.url, said

    def by(self, name: str) -> None:
        self.painted()
        self.tap("[data-who-open]")
        self.tap(f"#who [data-who]:has-text('{name}')")


def staged(folder: Path, panels: list[str]):
    served = Served(folder)
    served.at(make.NOW + timedelta(hours=1))
    environment = {
        **os.environ, "SHOP_DATA": str(served.folder), "PYTHONPATH": str(ROOT),
        "DJANGO_SETTINGS_MODULE": "shop.settings",
    }  # fmt: skip
    script = [sys.executable, str(Path(__file__).parent / "front.py"), *panels]
    made = subprocess.run(script, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
    assert made.returncode == 0, made.stderr
    return served, json.loads(made.stdout)


@pytest.mark.parametrize(("panels", "most"), [(HOOD, 60), (FRONT, 150)], ids=["hood", "front of six"])
def test_what_an_honest_record_costs(panels, most, browser, tmp_path, capsys):
    served, told = staged(tmp_path / "data", panels)
    tablet = browser.new_context(viewport={"width": 1194, "height": 834}, has_touch=True)
    tablet.add_cookies([{"name": "tablet", "value": told["cookie"], "url": served.url}])
    hands = Hands(tablet.new_page(), served, told)
    car = f"{served.url}/bay/{told['job']}/"
    try:
        hands.page.goto(f"{car}{told['places'][0]}/wash/")
        if panels[1:]:
            hands.tap("[data-same-for-all]")
        hands.work()
        hands.sign()
        served.pass_time(minutes=5)
        hands.page.reload()
        hands.work()
        hands.sign()
        hands.work()
        if "/sign/" in hands.page.url:
            hands.sign()
        served.pass_time(hours=26)
        hands.page.goto(car)
        hands.tap(f"[href='/bay/{told['job']}/{told['places'][0]}/cure/']")
        hands.by("Marek")
        hands.work()
        hands.sign()
        with capsys.disabled():
            sys.stdout.write(f"\n{', '.join(panels)}: {hands.count}\n")
        hands.page.goto(car)
        assert "/cars/" in hands.page.url or "released" in hands.page.locator("main").inner_text().lower()
    finally:
        served.stop()
    assert hands.count.touches <= hands.count.bound
    assert hands.count.touches <= most
