"""Takes the README's pictures from a fresh demo shop: same seed, same day, same sizes."""

import io
import json
import os
import subprocess
import sys
import tempfile
from datetime import datetime
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from tests.journeys.conftest import Served, chromium_path

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "pictures"
SEED, AS_OF, AT = "1", "2026-05-11", "2026-05-11T10:20:00+02:00"
DESK = {"viewport": {"width": 1440, "height": 900}}
TABLET = {"viewport": {"width": 1194, "height": 834}}
PHONE = {"viewport": {"width": 390, "height": 844}, "device_scale_factor": 2}


def demo(folder: Path) -> dict:
    done = subprocess.run(
        [sys.executable, "manage.py", "demo", "--seed", SEED, "--size", "full", "--as-of", AS_OF, "--json"],
        cwd=ROOT,
        env={**os.environ, "SHOP_DATA": str(folder), "SHOP_URL": "https://bayproof.example"},
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(done.stdout.splitlines()[-1])


def keep(png: bytes, name: str) -> None:
    Image.open(io.BytesIO(png)).convert("RGB").save(FOLDER / f"{name}.png", optimize=True)


class Visit:
    """One kind of device, with whoever stands before it."""

    def __init__(self, browser: Browser, url: str, **kind):
        self.url = url
        self.page: Page = browser.new_context(locale="en-GB", service_workers="block", **kind).new_page()

    def sign_in(self, person: dict) -> "Visit":
        self.page.goto(f"{self.url}/sign-in/")
        self.page.fill("[name=name]", person["name"])
        self.page.fill("[name=password]", person["password"])
        self.page.press("[name=password]", "Enter")
        self.page.wait_for_load_state()
        return self

    def enrol(self, tablet: dict) -> "Visit":
        self.page.goto(self.url + "/enrol/" + tablet["enrol_url"].split("/enrol/")[1])
        return self

    def keep(self, name: str, address: str) -> None:
        answer = self.page.goto(self.url + address)
        assert answer and answer.ok, f"{address} answered {answer and answer.status}"
        self.page.wait_for_load_state("networkidle")
        keep(self.page.screenshot(), name)


def paper(pdf: str) -> None:
    drawn = subprocess.run(
        ["pdftoppm", "-png", "-r", "100", "-f", "1", "-l", "1", pdf], capture_output=True, check=True
    )
    keep(drawn.stdout, "certificate")


def main() -> None:
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        folder = Path(place) / "data"
        told = demo(folder)
        server = Served(folder)
        server.at(datetime.fromisoformat(AT))
        arguments = ["--disable-gpu", *(["--no-sandbox"] if os.geteuid() == 0 else [])]
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=arguments)
        try:
            walk(browser, server.url, told)
        finally:
            browser.close()
            server.stop()
    sizes = {found.name: found.stat().st_size // 1024 for found in sorted(FOLDER.glob("*.png"))}
    sys.stdout.write("\n".join(f"{FOLDER.name}/{name}  {size} kB" for name, size in sizes.items()) + "\n")


def walk(browser: Browser, url: str, told: dict) -> None:
    _, at_work, laid = (car["job"] for car in told["cars"][:3])
    desk = Visit(browser, url, **DESK).sign_in(told["people"][0])
    desk.keep("in-the-bay", "/bay/")
    desk.keep("car", f"/cars/{laid}/")
    tablet = Visit(browser, url, **TABLET).enrol(told["tablets"][0])
    tablet.keep("stage", f"/bay/{at_work}/hood.1/degrease/")
    night = Visit(browser, url, color_scheme="dark", **TABLET).enrol(told["tablets"][0])
    night.keep("stage-at-night", f"/bay/{at_work}/hood.1/seal/")
    token = told["certificates"][0]["check_url"].rstrip("/").split("/")[-1]
    Visit(browser, url, **PHONE).keep("check", f"/check/{token}/")
    paper(told["certificates"][0]["pdf"])


if __name__ == "__main__":
    main()
