"""The demo's shop on the disk: told once a run, whoever changes it takes a copy."""

import fcntl
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connections
from django.db.backends.sqlite3.base import DatabaseWrapper
from django.test import override_settings

ROOT = Path(__file__).resolve().parent.parent
AS_OF = "2026-05-11"
SEED = 11


@dataclass(frozen=True)
class DemoShop:
    """A data folder with the demo in it; `told` is what the command said of it."""

    data: Path
    told: dict[str, Any]

    def environment(self) -> dict[str, str]:
        kept = {name: value for name, value in os.environ.items() if not name.startswith("SHOP_")}
        return kept | {"SHOP_DATA": str(self.data), "PYTHONDONTWRITEBYTECODE": "1"}

    def manage(self, *words: str, text: str = "") -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, str(ROOT / "manage.py"), *words],
            env=self.environment(),
            input=text,
            capture_output=True,
            text=True,
            timeout=300,
            check=False,
        )

    def copy(self, to: Path) -> "DemoShop":
        shutil.copytree(self.data, to)
        return DemoShop(to, self.told)

    @contextmanager
    def opened(self, blocker) -> Iterator[None]:
        """This process works in the folder: rows, store and keys. `blocker` is pytest-django's."""
        keys = {name: (self.data / "keys" / name).read_text().strip() for name in ("secret", "pin")}
        before = connections["default"]
        connections["default"] = connection = self._connection(before)
        try:
            with (
                blocker.unblock(),
                override_settings(
                    SHOP_DATA=self.data,
                    SECRET_KEY=keys["secret"],
                    PIN_KEY=keys["pin"],
                    FILE_UPLOAD_TEMP_DIR=self.data / "incoming",
                    PASSWORD_HASHERS=["django.contrib.auth.hashers.Argon2PasswordHasher"],
                ),
            ):
                yield
        finally:
            connection.close()
            connections["default"] = before

    def _connection(self, like) -> DatabaseWrapper:
        usual = {
            **like.settings_dict,
            "ENGINE": "django.db.backends.sqlite3",
            "OPTIONS": settings.SQLITE_OPTIONS,
        }
        return DatabaseWrapper({**usual, "NAME": str(self.data / "shop.sqlite3")}, alias="default")


def told_once(base: Path) -> DemoShop:
    """The demo under this folder, made by whichever process of the run comes first."""
    shop, told = DemoShop(base / "demo", {}), base / "demo.json"
    with (base / "demo.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not told.exists():
            done = shop.manage("demo", "--seed", str(SEED), "--as-of", AS_OF, "--json")
            assert done.returncode == 0, done.stderr
            told.write_text(done.stdout.splitlines()[-1])
    return DemoShop(shop.data, json.loads(told.read_text()))
