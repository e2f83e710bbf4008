"""What the pixels of a photo say: is anything on it, is it sharp, and what does it look like.

All of it only advises but `blank`: a gloss-black panel has nothing to be sharp about, and one threshold for
sharpness means nothing from one motif to the next. Looked at small, as sensor noise hides blur at full size.
"""

from dataclasses import dataclass
from typing import Final

import numpy
from numpy.typing import NDArray
from PIL import Image

LOOKED_AT: Final = 1024
_TILES: Final = 4
# A covered lens still gives noise, and a burnt-out frame a few grey specks.
_BLACK: Final = 12
_WHITE: Final = 250
_ALL: Final = 0.995

Grey = NDArray[numpy.uint8]


@dataclass(frozen=True)
class Verdict:
    """`sharpness` is the variance of the Laplacian in the sharpest of 4 × 4 tiles, rounded; `dhash` 16 hex digits."""

    sharpness: int
    dhash: str
    blank: bool


def judge(image: Image.Image) -> Verdict:
    """The verdict on a picture that stands upright: a turned one would look like another."""
    grey = image.convert("L")
    small = grey.copy()
    small.thumbnail((LOOKED_AT, LOOKED_AT), Image.Resampling.LANCZOS)
    pixels = numpy.asarray(small, dtype=numpy.uint8)
    return Verdict(sharpness=round(sharpness(pixels)), dhash=dhash(grey), blank=is_blank(pixels))


def sharpness(grey: Grey) -> float:
    """Variance of the Laplacian of the sharpest tile (focus measure after Pech-Pacheco et al., ICPR 2000).

    The sharpest tile, because a photo of one edge is meant to be soft everywhere else. 0 for a picture under 3 pixels.
    """
    if min(grey.shape) < 3:
        return 0.0
    a = grey.astype(numpy.int32)
    bends = a[:-2, 1:-1] + a[2:, 1:-1] + a[1:-1, :-2] + a[1:-1, 2:] - 4 * a[1:-1, 1:-1]
    rows = numpy.array_split(bends, _TILES, axis=0)
    tiles = (tile for row in rows for tile in numpy.array_split(row, _TILES, axis=1))
    return max(float(tile.var()) for tile in tiles if tile.size)


def is_blank(grey: Grey) -> bool:
    """All black or all white, but for a few specks."""
    return bool(numpy.mean(grey <= _BLACK) >= _ALL or numpy.mean(grey >= _WHITE) >= _ALL)


def dhash(grey: Image.Image) -> str:
    """64 bits that stay alike when a picture is saved again, shrunk or brightened.

    A hint only: two low-detail panels can come within a few bits of each other.
    """
    tiny = numpy.asarray(grey.convert("L").resize((9, 8), Image.Resampling.LANCZOS), dtype=numpy.uint8)
    rising = tiny[:, 1:] > tiny[:, :-1]
    return numpy.packbits(rising).tobytes().hex()


def distance(one: str, other: str) -> int:
    """Bits in which two hashes differ, 0 to 64.

    >>> distance("00000000000000ff", "00000000000000f0")
    4
    """
    return (int(one, 16) ^ int(other, 16)).bit_count()
