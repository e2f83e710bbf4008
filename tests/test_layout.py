"""The shape of the program: which room may know which, empty doorsteps, one clock."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
SHOP = ROOT / "shop"
# A room may import what stands before it, never what stands after.
ROOMS = [
    "record",
    "people",
    "documents",
    "photos",
    "intake",
    "film",
    "work",
    "warranty",
    "claims",
    "public",
    "find",
    "insights",
    "offline",
    "keep",
    "demo",
]
# Record and people need each other: an entry names who, and people's verbs write entries. The first start
# publishes the built-in documents, and who may do what stands in one of them.
TOGETHER = {("record", "people"), ("people", "documents")}


def sources():
    for path in sorted(SHOP.rglob("*.py")):
        if "migrations" not in path.parts:
            yield path


def room_of(path: Path) -> str:
    parts = path.relative_to(SHOP).parts
    return parts[0] if len(parts) > 1 and parts[0] in ROOMS else ""


def imported_rooms(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text())):
        names = []
        if isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module, *(f"{node.module}.{alias.name}" for alias in node.names)]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        for name in names:
            parts = name.split(".")
            if parts[0] == "shop" and len(parts) > 1 and parts[1] in ROOMS:
                found.add(parts[1])
    return found


@pytest.mark.parametrize("path", list(sources()), ids=lambda path: str(path.relative_to(SHOP)))
def test_rooms_know_only_what_stands_before_them(path):
    here = room_of(path)
    if not here:
        return
    later = {
        room
        for room in imported_rooms(path)
        if ROOMS.index(room) > ROOMS.index(here) and (here, room) not in TOGETHER
    }
    assert not later, f"{path.relative_to(ROOT)} imports {', '.join(sorted(later))}"


def test_doorsteps_are_empty():
    assert [str(p) for p in SHOP.rglob("__init__.py") if p.read_text().strip()] == []


def test_only_the_clock_asks_what_time_it_is():
    asks = re.compile(r"datetime\.now\(|timezone\.now\(|date\.today\(|utcnow\(")
    found = [
        str(path.relative_to(ROOT))
        for path in sources()
        if path != SHOP / "clock.py" and asks.search(path.read_text())
    ]
    assert found == []


def test_files_keep_to_one_subject():
    long = {
        str(path.relative_to(ROOT)): lines
        for path in sources()
        if (lines := len(path.read_text().splitlines())) > 350
    }
    assert long == {}
