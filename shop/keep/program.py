"""Which program this is: its version, and the revision of its text where that can be known."""

import os
import tomllib
from functools import cache
from pathlib import Path

from django.conf import settings

SHORT = 10


@cache
def version() -> str:
    file = settings.BASE_DIR / "pyproject.toml"
    return tomllib.loads(file.read_text(encoding="utf-8"))["project"]["version"] if file.exists() else ""


@cache
def revision() -> str:
    """From SHOP_REVISION, else from the working copy the program runs in; empty where neither says."""
    told = os.environ.get("SHOP_REVISION", "")
    return told[:40] or _of_working_copy(settings.BASE_DIR / ".git")


def in_words() -> str:
    return f"Bayproof {version()}" + (f", revision {revision()[:SHORT]}" if revision() else "")


def _of_working_copy(git: Path) -> str:
    """Read by hand: a server has no reason to run another program for this."""
    try:
        if git.is_file():
            git = (git.parent / git.read_text(encoding="utf-8").removeprefix("gitdir:").strip()).resolve()
        head = (git / "HEAD").read_text(encoding="utf-8").strip()
        if not head.startswith("ref: "):
            return head[:40]
        name = head.removeprefix("ref: ")
        if (git / name).is_file():
            return (git / name).read_text(encoding="utf-8").strip()[:40]
        packed = (git / "packed-refs").read_text(encoding="utf-8").splitlines()
        return next((line.split()[0] for line in packed if line.endswith(f" {name}")), "")
    except OSError:
        return ""
