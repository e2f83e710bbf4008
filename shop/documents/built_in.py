"""The documents that come with the program, read from `fixtures/`."""

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from django.conf import settings

FOLDERS = ("plans", "terms", "films", "bodies")


def folder() -> Path:
    return settings.BASE_DIR / "fixtures"


def files() -> list[Path]:
    """Roles first: whoever publishes the others is judged by them."""
    return [
        folder() / "roles.toml",
        *(path for name in FOLDERS for path in sorted((folder() / name).glob("*.toml"))),
    ]


@cache
def read(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def roles() -> dict[str, Any]:
    return read(folder() / "roles.toml")


def film_defaults() -> dict[str, Any]:
    return read(folder() / "films" / "defaults.toml")
