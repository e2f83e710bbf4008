"""Bar codes and matrix codes in a photo of a label, read in a helper process: Code 39, Code 128, Data Matrix, QR.

Runs in the press and imports no Django. What is read is only ever shown: somebody compares it with the label.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import zxingcpp
from PIL import Image, ImageFilter, ImageOps

from shop.photos import decode

SIDE = 2000
MOST_CODES = 12
LONGEST = 200
FORMATS = (
    zxingcpp.BarcodeFormat.Code39,
    zxingcpp.BarcodeFormat.Code128,
    zxingcpp.BarcodeFormat.DataMatrix,
    zxingcpp.BarcodeFormat.QRCode,
)
# Bars are looked for along lines of the picture, so that a label held askew is turned and looked at again.
TURNS = (0, 15, -15, 30, -30)


@dataclass(frozen=True)
class Code:
    """One code: `kind` as it is called, `text` as it stands in it, control characters and all."""

    kind: str
    text: str


def read(path: str, kind: str) -> list[Code]:
    """Every code in the photo, in reading order of the first look that finds any; decode.Unreadable for no photo."""
    picture = decode.grey(path, kind, SIDE)
    for seen in _looks(picture):
        found = _codes(seen)
        if found:
            return found
    return []


def _looks(picture: Image.Image) -> Iterator[Image.Image]:
    """The photo as it is, then with its light stretched and its noise smoothed, straight and turned."""
    yield picture
    clear = ImageOps.autocontrast(picture.filter(ImageFilter.MedianFilter(3)), cutoff=1)
    for turn in TURNS:
        yield (
            clear.rotate(turn, expand=True, fillcolor=255, resample=Image.Resampling.BICUBIC)
            if turn
            else clear
        )


def _codes(picture: Image.Image) -> list[Code]:
    found = zxingcpp.read_barcodes(picture, formats=list(FORMATS), text_mode=zxingcpp.TextMode.Plain)
    codes = [
        Code(str(code.format).rpartition(".")[2], code.text)
        for code in sorted(found, key=lambda code: (code.position.top_left.y, code.position.top_left.x))
        if code.valid and 0 < len(code.text) <= LONGEST
    ]
    return list(dict.fromkeys(codes))[:MOST_CODES]
