"""A place on the zoomed panel: kept in thousandths, the same at any size, and on the sheet where it lies flat."""

import re
import tomllib
from pathlib import Path

import pytest

from shop.intake.sheet import read_body
from shop.intake.sheet_states import Mark
from shop.intake.zoom import draw_panel
from shop.intake.zoom_marks import on_the_sheet

BODIES = Path(__file__).resolve().parents[2] / "fixtures" / "bodies"
SEDAN = read_body(tomllib.loads((BODIES / "sedan.toml").read_text()))


@pytest.mark.parametrize(("width", "height"), [(440, 400), (780, 660)])
def test_a_mark_stands_at_its_share_of_the_box(width, height):
    mark = Mark("hood", 1, "speck", "damage", 250, 750)
    svg = draw_panel(SEDAN, "hood", edges={}, marks=[mark], width=width, height=height)
    x, y, across, down = map(float, re.search(r'data-box="([^"]+)"', svg).group(1).split())
    ring = re.search(r'aria-label="1. speck".*?<circle cx="([\d.]+)" cy="([\d.]+)"', svg)
    assert float(ring.group(1)) == pytest.approx(x + across / 4, abs=0.6)
    assert float(ring.group(2)) == pytest.approx(y + down * 3 / 4, abs=0.6)


def test_a_flat_panel_is_the_same_on_the_sheet():
    assert on_the_sheet(SEDAN.panel("hood"), 300, 600) == (300, 600)


def test_a_folded_panel_has_no_such_place_on_the_sheet():
    assert on_the_sheet(SEDAN.panel("bumper-front"), 300, 600) is None


def test_no_place_is_no_place():
    assert on_the_sheet(SEDAN.panel("hood"), None, None) is None
