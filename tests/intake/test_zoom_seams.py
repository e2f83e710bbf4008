"""A panel in several pieces: its seams cross the drawing, the piece's own can be touched, and nothing leaves it."""

import re
import tomllib

import pytest

from shop.intake.drawing import draw_panel
from shop.intake.sheet import read_body
from shop.intake.sheet_states import EdgeMark, EdgeState
from shop.intake.zoom_seams import seam_lines
from tests.make import FIXTURES

BODY = read_body(tomllib.loads((FIXTURES / "bodies/sedan.toml").read_text()))
SQUARE = [0j, 120 + 0j, 120 + 60j, 60j]


def drawn(panel="bumper-front", pieces=3, piece=2, own=(1, 2), **state):
    edges = {f"seam-{number}": EdgeState(**state) for number in own}
    return draw_panel(BODY, panel, piece, edges=edges, pieces=pieces)


def touched(svg: str) -> list[str]:
    return re.findall(r'data-panel="([^"]+)" data-edge="(seam-\d)"', svg)


@pytest.mark.parametrize("pieces", range(1, 7))
def test_there_is_a_seam_between_each_two_pieces(pieces):
    lines = seam_lines(SQUARE, pieces)
    assert [start.real for start, _ in lines] == [120 * n / pieces for n in range(1, pieces)]
    assert all((start.imag, end.imag) == (0, 60) for start, end in lines)


def test_an_upright_panel_is_divided_along_its_length():
    upright = [complex(point.imag, point.real) for point in SQUARE]
    assert seam_lines(upright, 2) == [(60j, 60 + 60j)]


def test_the_seams_of_this_piece_can_be_touched():
    assert touched(drawn()) == [("bumper-front.2", "seam-1"), ("bumper-front.2", "seam-2")]
    assert touched(drawn(piece=1, own=(1,))) == [("bumper-front.1", "seam-1")]
    assert touched(drawn(pieces=1, own=(1,))) == []
    assert touched(drawn(mark=EdgeMark.OPEN)) == []


def test_a_seam_says_its_state_and_between_which_pieces_it_lies():
    assert "Seam 1, piece 1 to 2, seam, not answered" in drawn()
    assert 'data-state="answered"' in drawn(mark=EdgeMark.ANSWERED)


def test_every_piece_shows_its_number():
    numbers = re.search(r'<g class="pieces".*?</g>', drawn(pieces=4), re.DOTALL)[0]
    assert re.findall(r">(\d)<", numbers) == ["1", "2", "3", "4"]
    assert 'class="pieces"' not in drawn(pieces=1, own=())


@pytest.mark.parametrize("panel", ["bumper-front", "bumper-rear", "rocker-left", "hood"])
@pytest.mark.parametrize("pieces", [2, 6])
def test_seams_lie_within_the_drawing(panel, pieces):
    svg = drawn(panel, pieces, own=range(1, pieces))
    assert len(touched(svg)) == pieces - 1
    for x, y in re.findall(r"[ML](-?[\d.]+)[ ,](-?[\d.]+)", svg):
        assert 0 <= float(x) <= 780 and 0 <= float(y) <= 660
