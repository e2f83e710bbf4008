"""The pure rules import no Django, so that they can be read, tested and moved without a database."""

import doctest
import importlib
import subprocess
import sys

import pytest

PURE = [
    "shop.units",
    "shop.reasons",
    "shop.record.chain",
    "shop.record.telling",
    "shop.record.words",
    "shop.documents.check",
    "shop.documents.compare",
    "shop.documents.digest",
    "shop.photos.quality",
    "shop.photos.sniff",
    "shop.intake.vin",
    "shop.intake.paint",
    "shop.intake.spots",
    "shop.intake.keys",
    "shop.intake.sheet",
    "shop.intake.drawing",
    "shop.intake.stripes",
    "shop.film.label",
    "shop.film.usage",
    "shop.work.checklist",
    "shop.work.onward",
    "shop.work.gates",
    "shop.work.dewpoint",
    "shop.work.timers",
    "shop.work.kinds",
    "shop.warranty.columns",
    "shop.warranty.spreadsheet",
    "shop.warranty.coverage",
    "shop.warranty.disclosure",
    "shop.warranty.tying",
    "shop.warranty.care",
    "shop.warranty.care_calendar",
    "shop.keep.rules",
    "shop.keep.sealed",
    "shop.warranty.timeline",
    "shop.claims.standing",
]


def test_the_pure_rules_import_no_django():
    # One process for all, each module named with what it dragged in.
    code = (
        "import importlib, sys\n"
        f"for name in {PURE!r}:\n"
        "    importlib.import_module(name)\n"
        "    if any(loaded.split('.')[0] == 'django' for loaded in sys.modules):\n"
        "        sys.exit(f'{name} imports Django')\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("name", PURE)
def test_the_examples_in_the_pure_rules_are_true(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0
