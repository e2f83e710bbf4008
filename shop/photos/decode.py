"""Opening a photo, in a helper process: upright, plain colours, two sizes without anything hidden in them.

Runs in the press and imports no Django, so that a decoder that falls over takes nothing along. The file has
been through `sniff` before: its kind and its size are known, and only that one decoder is asked.
"""

import io
import re
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy
from PIL import Image, ImageCms, ImageFile

from shop.photos import quality

SCREEN_SIDE = 1600
PRINT_SIDE = 400
QUALITY = 82
MOST_PROFILE = 1_000_000
_FORMATS = {"jpeg": "JPEG", "png": "PNG", "webp": "WEBP", "heif": "HEIF"}
_MODES = {"1", "L", "LA", "P", "PA", "RGB", "RGBA", "RGBX", "CMYK", "YCbCr", "I", "I;16", "I;16B", "I;16L"}
_SIXTEEN_BIT = {"I", "I;16", "I;16B", "I;16L"}
_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
_ORIENTATION, _DATE_TIME, _EXIF, _TAKEN, _TAKEN_OFFSET = 0x0112, 0x0132, 0x8769, 0x9003, 0x9011
_WHEN = re.compile(r"(\d{4}):(\d\d):(\d\d) (\d\d:\d\d:\d\d)")
_OFFSET = re.compile(r"[+-]\d\d:\d\d")


class Unreadable(Exception):
    """The decoder would not open it; the text is for the log, not for the person."""


@dataclass(frozen=True)
class Decoded:
    """`w` and `h` of the original once upright; `taken` is "2026-03-02 09:14:05", with the camera's offset
    behind it where it says one; `screen` and `print` are JPEG bytes without metadata."""

    w: int
    h: int
    taken: str
    screen: bytes
    print: bytes
    verdict: quality.Verdict


def decode(path: str, kind: str) -> Decoded:
    """Everything that is made of a photo once; Unreadable when it cannot be opened, whatever the cause."""
    return _guarded(_decode, Path(path), kind)


def grey(path: str, kind: str, side: int) -> Image.Image:
    """The photo upright in shades of grey, its longer side at most `side`; Unreadable as above."""
    return _guarded(_grey, Path(path), kind, side)


def _guarded(work: Callable[..., Any], *given: Any) -> Any:
    Image.MAX_IMAGE_PIXELS = 50_000_000
    # The printer, which may have worked in this very process, lets halves of pictures pass.
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            return work(*given)
    except MemoryError:
        raise
    except Exception as error:
        # Decoders raise whatever they like on damaged bytes; all of it means the same here.
        raise Unreadable(f"{type(error).__name__}: {error}"[:300]) from None


def _decode(path: Path, kind: str) -> Decoded:
    with Image.open(path, formats=_checked(path, kind)) as image:
        turn, taken = _told(image)
        w, h = image.size if turn < 5 else image.size[::-1]
        _draft(image, SCREEN_SIDE)
        image.load()
        seen = _upright(_plain(image, SCREEN_SIDE), turn)
    small = seen.copy()
    small.thumbnail((PRINT_SIDE, PRINT_SIDE), Image.Resampling.LANCZOS)
    return Decoded(w, h, taken, _jpeg(seen), _jpeg(small), quality.judge(seen))


def _grey(path: Path, kind: str, side: int) -> Image.Image:
    with Image.open(path, formats=_checked(path, kind)) as image:
        turn, _ = _told(image)
        _draft(image, side)
        image.load()
        return _upright(_plain(image, side), turn).convert("L")


def _checked(path: Path, kind: str) -> list[str]:
    """The one format it is opened as, after a look at its structure."""
    if kind == "heif":
        import pillow_heif

        pillow_heif.register_heif_opener(thumbnails=False)
    formats = [_FORMATS[kind]]
    with Image.open(path, formats=formats) as image:
        if image.mode not in _MODES:
            raise Unreadable(f"mode {image.mode}")
        image.verify()
    return formats


def _told(image: Image.Image) -> tuple[int, str]:
    """How the camera was turned (1 to 8) and when it says the picture was taken. Nothing else is read."""
    try:
        exif = image.getexif()
        inner = exif.get_ifd(_EXIF)
        turn = exif.get(_ORIENTATION)
        when = inner.get(_TAKEN) or exif.get(_DATE_TIME) or ""
        return (turn if turn in range(1, 9) else 1), _taken(when, inner.get(_TAKEN_OFFSET))
    except MemoryError:
        raise
    except Exception:
        return 1, ""


def _taken(when: object, offset: object) -> str:
    found = _WHEN.fullmatch(str(when).strip("\0 "))
    if not found or found[1] == "0000":
        return ""
    behind = str(offset).strip("\0 ") if offset else ""
    return "{}-{}-{} {}".format(*found.groups()) + (behind if _OFFSET.fullmatch(behind) else "")


def _draft(image: Image.Image, side: int) -> None:
    """Let the JPEG decoder skip detail. The box has the picture's own shape: it must fit both ways to work."""
    longest = max(image.size)
    if longest > side:
        image.draft(None, tuple(-(-each * side // longest) for each in image.size))


def _plain(image: Image.Image, side: int) -> Image.Image:
    """RGB as a screen shows it, no larger than that, transparency on white."""
    profile = image.info.get("icc_profile")
    image = _eight_bit(image)
    clear = image.mode in ("LA", "PA", "RGBA") or "transparency" in image.info
    if image.mode in ("P", "PA") or clear:
        image = image.convert("RGBA" if clear else "RGB")
    image.thumbnail((side, side), Image.Resampling.LANCZOS)
    mask = image.getchannel("A") if clear else None
    flat = _screen_colours(image.convert("RGB") if clear else image, profile)
    page = Image.new("RGB", flat.size, "white")
    page.paste(flat, mask=mask)
    return page


def _eight_bit(image: Image.Image) -> Image.Image:
    if image.mode in _SIXTEEN_BIT:
        values = numpy.asarray(image).astype(numpy.uint32) >> 8
        return Image.fromarray(numpy.minimum(values, 255).astype(numpy.uint8))
    return image.convert("L") if image.mode == "1" else image


def _screen_colours(image: Image.Image, profile: bytes | None) -> Image.Image:
    if profile and len(profile) <= MOST_PROFILE:
        try:
            source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            return ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
        except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
            pass  # A profile that does not fit its picture is ignored, as browsers do.
    return image.convert("RGB")


def _upright(image: Image.Image, turn: int) -> Image.Image:
    return image.transpose(_TURNS[turn]) if turn in _TURNS else image


def _jpeg(image: Image.Image) -> bytes:
    """JPEG bytes of a picture made here, so that there is nothing in it but its pixels."""
    out = io.BytesIO()
    clean = Image.new("RGB", image.size)
    clean.paste(image)
    clean.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()
