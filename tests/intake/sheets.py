"""The bodies that come with the program, read once for all tests of the sheet."""

import tomllib
from functools import cache
from pathlib import Path

from shop.intake.sheet import read_body

FOLDER = Path(__file__).resolve().parents[2] / "fixtures" / "bodies"
NAMES = sorted(path.stem for path in FOLDER.glob("*.toml"))


def document(name):
    return tomllib.loads((FOLDER / f"{name}.toml").read_text())


@cache
def body(name="sedan"):
    return read_body(document(name))
