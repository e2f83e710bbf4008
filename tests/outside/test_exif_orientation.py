"""EXIF orientation 1 to 8 (CIPA DC-008, tag 0x0112): how a picture must be turned to stand upright.

The expected rows are Pillow's own `ImageOps.exif_transpose` of a 3 × 2 picture; the photos of the shop are
turned by the decoder in the press.
"""

import io

import numpy
import pytest
from PIL import Image, ImageOps

from shop.photos.decode import decode

ORIENTATION = 0x0112
# value: where the squares 1 to 6 of [[1, 2, 3], [4, 5, 6]] stand afterwards
UPRIGHT = {
    1: [[1, 2, 3], [4, 5, 6]],
    2: [[3, 2, 1], [6, 5, 4]],
    3: [[6, 5, 4], [3, 2, 1]],
    4: [[4, 5, 6], [1, 2, 3]],
    5: [[1, 4], [2, 5], [3, 6]],
    6: [[4, 1], [5, 2], [6, 3]],
    7: [[6, 3], [5, 2], [4, 1]],
    8: [[3, 6], [2, 5], [1, 4]],
}
SQUARE = 300
STEP = 40


def squares():
    """Six grey squares, 1 to 6, large enough to survive JPEG."""
    rows = numpy.array([[1, 2, 3], [4, 5, 6]], dtype=numpy.uint8) * STEP
    return Image.fromarray(rows.repeat(SQUARE, axis=0).repeat(SQUARE, axis=1)).convert("RGB")


def saved(value, kind):
    exif = Image.Exif()
    exif[ORIENTATION] = value
    out = io.BytesIO()
    squares().save(out, kind, exif=exif, quality=95)
    return out.getvalue()


def read(image):
    grey = numpy.asarray(image.convert("L")).astype(int)
    rows, columns = (2, 3) if grey.shape[1] > grey.shape[0] else (3, 2)
    high, wide = grey.shape[0] // rows, grey.shape[1] // columns
    middles = grey[high // 2 :: high, wide // 2 :: wide][:rows, :columns]
    return numpy.rint(middles / STEP).astype(int).tolist()


@pytest.mark.parametrize(("value", "rows"), UPRIGHT.items())
def test_pillow_turns_as_the_standard_says(value, rows):
    image = Image.open(io.BytesIO(saved(value, "JPEG")))
    assert read(ImageOps.exif_transpose(image)) == rows


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize(("value", "rows"), UPRIGHT.items())
def test_photos_are_kept_upright(value, rows, kind, tmp_path):
    path = tmp_path / "photo"
    path.write_bytes(saved(value, kind))
    decoded = decode(str(path), kind.lower())
    screen = Image.open(io.BytesIO(decoded.screen))
    assert read(screen) == rows
    assert ORIENTATION not in screen.getexif()
    assert (decoded.w, decoded.h) == (SQUARE * len(rows[0]), SQUARE * len(rows))


@pytest.mark.parametrize("value", [0, 9, 65535])
def test_a_value_the_standard_does_not_know_turns_nothing(value, tmp_path):
    path = tmp_path / "photo"
    path.write_bytes(saved(value, "JPEG"))
    assert read(Image.open(io.BytesIO(decode(str(path), "jpeg").screen))) == UPRIGHT[1]
