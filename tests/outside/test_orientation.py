"""The eight orientations of CIPA DC-008 (Exif 2.32), tag 274: where row 0 and column 0 of the file are seen.

1 top left, 2 top right, 3 bottom right, 4 bottom left, 5 left top, 6 right top, 7 right bottom, 8 left bottom.
"""

import io

import pytest
from PIL import Image

from shop.photos.decode import decode
from tests.photos import pictures

# Corners of the picture as seen, clockwise from top left, for a file that holds red, lime / blue, yellow.
SEEN = {
    1: ("red", "lime", "yellow", "blue"),
    2: ("lime", "red", "blue", "yellow"),
    3: ("yellow", "blue", "red", "lime"),
    4: ("blue", "yellow", "lime", "red"),
    5: ("red", "blue", "yellow", "lime"),
    6: ("blue", "red", "lime", "yellow"),
    7: ("yellow", "lime", "red", "blue"),
    8: ("lime", "yellow", "blue", "red"),
}
COLOURS = {"red": (255, 0, 0), "lime": (0, 255, 0), "blue": (0, 0, 255), "yellow": (255, 255, 0)}


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("turn", SEEN)
def test_every_turn_is_seen_upright(tmp_path, kind, turn):
    file = tmp_path / "turned"
    file.write_bytes(pictures.saved(pictures.quarters(), kind, exif=pictures.exif(turn=turn)))
    found = decode(str(file), kind.lower())
    assert (found.w, found.h) == ((1200, 900) if turn < 5 else (900, 1200))
    for data in (found.screen, found.print):
        picture = Image.open(io.BytesIO(data))
        w, h = picture.size
        assert (w > h) == (turn < 5)
        corners = [(w // 8, h // 8), (w * 7 // 8, h // 8), (w * 7 // 8, h * 7 // 8), (w // 8, h * 7 // 8)]
        assert tuple(_nearest(picture.getpixel(at)) for at in corners) == SEEN[turn]


def _nearest(pixel):
    return min(COLOURS, key=lambda name: sum(abs(a - b) for a, b in zip(pixel, COLOURS[name], strict=True)))
