"""A server to visit, a browser to visit it with, and a clock for both to live by."""

import os
import shutil
import socket
import subprocess
import sys
from datetime import datetime, timedelta
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent


class Served:
    """The program, served. `at` moves its clock."""

    def __init__(self, folder: Path):
        with socket.socket() as found:
            found.bind(("127.0.0.1", 0))
            self.port = found.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        self.folder = folder
        environment = {
            **os.environ,
            "SHOP_DATA": str(folder),
            "SHOP_URL": "",
            "DJANGO_SETTINGS_MODULE": "shop.settings",
            "PYTHONPATH": str(ROOT),
        }
        self.process = subprocess.Popen(
            [sys.executable, str(Path(__file__).parent / "serve.py"), str(self.port)],
            cwd=ROOT,
            env=environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self.process.stdout.readline() == "serving\n"
        self.now = datetime.fromisoformat("2026-03-02T09:00:00+01:00")
        self.at(self.now)

    def at(self, moment: datetime) -> None:
        self.now = moment
        self.process.stdin.write(moment.isoformat() + "\n")
        self.process.stdin.flush()
        assert self.process.stdout.readline() == "set\n"

    def pass_time(self, **span) -> None:
        self.at(self.now + timedelta(**span))

    def stop(self) -> None:
        self.process.stdin.close()
        self.process.wait(timeout=20)


@pytest.fixture
def served(tmp_path):
    server = Served(tmp_path / "data")
    yield server
    server.stop()


def chromium_path() -> str:
    for found in (
        os.environ.get("CHROMIUM"),
        *map(shutil.which, ("chromium", "chromium-browser", "google-chrome")),
    ):
        if found:
            return found
    pytest.fail("No Chromium on this machine: install it with the package manager, or say CHROMIUM=path.")


@pytest.fixture(scope="module")
def browser():
    """Closed with its module: Playwright's loop, left running, bars Django's database from every later test."""
    from playwright.sync_api import sync_playwright

    # As root Chromium refuses its sandbox; in a browser that visits this server alone nothing is lost.
    arguments = ["--disable-gpu", "--disable-background-networking", "--disable-component-update"]
    arguments += ["--no-sandbox"] if os.geteuid() == 0 else []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=arguments)
        yield browser
        browser.close()
