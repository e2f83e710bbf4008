"""What a file says it is, read from its own bytes before any decoder sees it.

`sniff` reads the headers of JPEG, PNG, WebP and HEIF, refuses what no bay photo needs and could hurt a decoder,
and raises nothing but `NotAPicture`, whatever the bytes. It proves no picture: decoding does.
"""

import re
import struct
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

FEWEST_BYTES: Final = 128
MOST_BYTES: Final = 25_000_000
MOST_PIXELS: Final = 50_000_000
SHORTEST_SIDE: Final = 64
LONGEST_SIDE: Final = 12_000
MOST_HEADER: Final = 1_000_000
MOST_SCANS: Final = 64
MOST_PIECES: Final = 20_000


class NotAPicture(ValueError):
    """The file cannot be taken as a photo; the text is a sentence for the person who sent it."""


@dataclass(frozen=True)
class Header:
    """`kind` is jpeg, png, webp or heif; sides in pixels before any turning; `remarks` are odd but harmless."""

    kind: str
    width: int
    height: int
    remarks: tuple[str, ...] = ()


_DAMAGED = "This file is damaged or was not sent whole. Take the photo again or send it once more."
_MOVING = "This file holds a moving picture. Send a single photo."
_LOADED = "This file carries more hidden data than a photo needs. Save it afresh as a plain photo."

_FOREIGN: Final = (
    (b"GIF8", "a GIF"),
    (b"BM", "a BMP"),
    (b"II*\0", "a TIFF"),
    (b"MM\0*", "a TIFF"),
    (b"%!PS", "an EPS"),
    (b"\xc5\xd0\xd3\xc6", "an EPS"),
    (b"%PDF", "a PDF"),
    (b"PK\x03\x04", "a ZIP"),
    (b"<svg", "an SVG"),
    (b"<?xml", "an XML"),
    (b"<!doctype", "a web page"),
    (b"<html", "a web page"),
)


def sniff(data: bytes) -> Header:
    """Kind and size of a photo from its header; NotAPicture with a sentence for everything else."""
    if len(data) < FEWEST_BYTES:
        raise NotAPicture("This file is empty or far too short to be a photo.")
    if len(data) > MOST_BYTES:
        raise NotAPicture(f"This file is larger than {MOST_BYTES // 1_000_000} MB. Send a smaller photo.")
    try:
        header = _reader(data)(data)
    except (struct.error, IndexError) as error:
        raise NotAPicture(_DAMAGED) from error
    _fits(header.width, header.height)
    return header


def _reader(data: bytes) -> Callable[[bytes], Header]:
    if data.startswith(b"\xff\xd8\xff"):
        return _jpeg
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return _png
    if data.startswith(b"RIFF") and data[8:12] == b"WEBP":
        return _webp
    if data[4:8] == b"ftyp":
        return _heif
    start = data[:64].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    name = next((name for mark, name in _FOREIGN if start.startswith(mark.lower())), "something else")
    raise NotAPicture(f"This file is {name}, not a photo. Photos come as JPEG, PNG, WebP or HEIC.")


def _fits(width: int, height: int) -> None:
    if min(width, height) < SHORTEST_SIDE:
        raise NotAPicture(f"This picture is only {width} × {height} pixels: too small to show anything.")
    if max(width, height) > LONGEST_SIDE or width * height > MOST_PIXELS:
        raise NotAPicture(
            f"This picture is {width} × {height} pixels. The most is {LONGEST_SIDE} a side "
            f"and {MOST_PIXELS // 1_000_000} million in all."
        )


def _need(whole: bool, sentence: str = _DAMAGED) -> None:
    if not whole:
        raise NotAPicture(sentence)


# In a scan, FF 00 is data and FF D0–D7 are restarts; any other FF pair is the next marker.
_NEXT_MARKER: Final = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")
_FRAMES: Final = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_PLAIN_FRAMES: Final = frozenset({0xC0, 0xC1, 0xC2})


def _jpeg(data: bytes) -> Header:
    size: tuple[int, int] | None = None
    scans = header = 0
    at = 2
    while True:
        _need(data[at] == 0xFF)
        while data[at] == 0xFF:
            at += 1
        marker, at = data[at], at + 1
        if marker == 0xD9:
            break
        _need(0xC0 <= marker <= 0xFE and not 0xD0 <= marker <= 0xD8)
        (length,) = struct.unpack_from(">H", data, at)
        _need(length >= 2 and at + length <= len(data))
        header += length + 2
        _need(header <= MOST_HEADER, _LOADED)
        if marker in _FRAMES:
            _need(size is None)
            size = _jpeg_frame(marker, data[at : at + length])
        at += length
        if marker == 0xDA:
            _need(size is not None)
            scans += 1
            _need(
                scans <= MOST_SCANS,
                "This JPEG is built in more steps than any camera uses. Take a photo afresh.",
            )
            found = _NEXT_MARKER.search(data, at)
            if found is None:
                raise NotAPicture(_DAMAGED)
            at = found.start()
    if size is None or not scans:
        raise NotAPicture(_DAMAGED)
    remarks = ("more bytes follow after the picture",) if at < len(data) else ()
    return Header("jpeg", *size, remarks)


def _jpeg_frame(marker: int, segment: bytes) -> tuple[int, int]:
    _need(
        marker in _PLAIN_FRAMES,
        "This JPEG is coded in a way that cannot be shown. Save it as an ordinary JPEG.",
    )
    _, bits, height, width, components = struct.unpack_from(">HBHHB", segment)
    _need(bits == 8 and components in (1, 3, 4) and len(segment) == 8 + 3 * components)
    return width, height


def _png(data: bytes) -> Header:
    _need(data[8:16] == b"\0\0\0\rIHDR")
    width, height, bits, colour, packing, filters, lacing = struct.unpack_from(">IIBBBBB", data, 16)
    depths = {0: (1, 2, 4, 8, 16), 2: (8, 16), 3: (1, 2, 4, 8), 4: (8, 16), 6: (8, 16)}
    _need(bits in depths.get(colour, ()) and packing == 0 and filters == 0 and lacing in (0, 1))
    header, pixels, at = 0, False, 8
    for name, start, length in _png_chunks(data):
        _need(name not in (b"acTL", b"fcTL", b"fdAT"), _MOVING)
        _need((name == b"IHDR") == (start == 16))
        at = start + length + 4
        if name == b"IDAT":
            pixels = True
        elif name == b"IEND":
            _need(pixels)
            break
        else:
            header += max(length, _unpacked(name, data[start : start + length]))
            _need(header <= MOST_HEADER, _LOADED)
    else:
        raise NotAPicture(_DAMAGED)
    return Header("png", width, height, ("more bytes follow after the picture",) if at < len(data) else ())


def _png_chunks(data: bytes) -> Iterator[tuple[bytes, int, int]]:
    at = 8
    for _ in range(MOST_PIECES):
        if at + 12 > len(data):
            return
        (length,) = struct.unpack_from(">I", data, at)
        name, start = data[at + 4 : at + 8], at + 8
        _need(start + length + 4 <= len(data))
        (check,) = struct.unpack_from(">I", data, start + length)
        _need(zlib.crc32(memoryview(data)[at + 4 : start + length]) == check)
        yield name, start, length
        at = start + length + 4
    raise NotAPicture(_LOADED)


def _unpacked(name: bytes, chunk: bytes) -> int:
    """Length of packed text or profile once unpacked, as far as the limit: small bombs hide in there."""
    rest = chunk.partition(b"\0")[2]
    if name in (b"zTXt", b"iCCP"):
        packed = rest[1:]
    elif name == b"iTXt" and rest[:1] == b"\x01":
        packed = rest[2:].partition(b"\0")[2].partition(b"\0")[2]
    else:
        return 0
    try:
        return len(zlib.decompressobj().decompress(packed, MOST_HEADER + 1))
    except zlib.error:
        return 0


def _webp(data: bytes) -> Header:
    (claimed,) = struct.unpack_from("<I", data, 4)
    end = claimed + 8
    _need(12 < end <= len(data))
    canvas: tuple[int, int] | None = None
    picture: tuple[int, int] | None = None
    header = 0
    for name, start, length in _webp_chunks(data, end):
        _need(name not in (b"ANIM", b"ANMF"), _MOVING)
        if name == b"VP8X":
            _need(canvas is None and picture is None and length >= 10)
            _need(not data[start] & 0x02, _MOVING)
            canvas = (1 + _three(data, start + 4), 1 + _three(data, start + 7))
        elif name in (b"VP8 ", b"VP8L"):
            _need(picture is None)
            picture = (_vp8 if name == b"VP8 " else _vp8l)(data, start, length)
        elif name != b"ALPH":
            header += length
            _need(header <= MOST_HEADER, _LOADED)
    if picture is None or canvas not in (None, picture):
        raise NotAPicture(_DAMAGED)
    return Header(
        "webp", *picture, ("more bytes follow after the picture",) if end + end % 2 < len(data) else ()
    )


def _webp_chunks(data: bytes, end: int) -> Iterator[tuple[bytes, int, int]]:
    at = 12
    for _ in range(MOST_PIECES):
        if at + 8 > end:
            return
        name, (length,) = data[at : at + 4], struct.unpack_from("<I", data, at + 4)
        _need(at + 8 + length <= end)
        yield name, at + 8, length
        at += 8 + length + length % 2
    raise NotAPicture(_LOADED)


def _three(data: bytes, at: int) -> int:
    return int.from_bytes(data[at : at + 3], "little")


def _vp8(data: bytes, at: int, length: int) -> tuple[int, int]:
    _need(length >= 10 and not data[at] & 1 and data[at + 3 : at + 6] == b"\x9d\x01\x2a")
    width, height = struct.unpack_from("<HH", data, at + 6)
    return width & 0x3FFF, height & 0x3FFF


def _vp8l(data: bytes, at: int, length: int) -> tuple[int, int]:
    _need(length >= 5 and data[at] == 0x2F)
    (bits,) = struct.unpack_from("<I", data, at + 1)
    _need(bits >> 29 == 0)
    return 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)


_STILL_BRANDS: Final = frozenset({b"heic", b"heix", b"heim", b"heis"})


_Box = tuple[bytes, int, int]


def _heif(data: bytes) -> Header:
    """The largest size any part claims: a decoder may be asked for each of them."""
    top = list(_boxes(data, 0, len(data)))
    name, start, end = top[0]
    _need(name == b"ftyp" and end - start >= 8)
    major = data[start : start + 4]
    brands = {major} | {data[at : at + 4] for at in range(start + 8, min(end, start + 400), 4)}
    _need(major not in (b"hevc", b"hevx", b"msf1") and all(box[0] != b"moov" for box in top), _MOVING)
    _need(
        bool(brands & _STILL_BRANDS),
        "This file is a film or an AVIF. Photos come as JPEG, PNG, WebP or HEIC.",
    )
    metas = [box for box in top if box[0] == b"meta"]
    _need(sum(box[2] - box[1] for box in metas) <= MOST_HEADER, _LOADED)
    properties = _inside(data, _inside(data, metas, b"iprp", skip=4), b"ipco")
    sizes = [struct.unpack_from(">II", data, box[1] + 4) for box in _inside(data, properties, b"ispe")]
    if not sizes:
        raise NotAPicture(_DAMAGED)
    width, height = max(sizes, key=lambda size: (size[0] * size[1], max(size)))
    return Header("heif", width, height)


def _inside(data: bytes, parents: list[_Box], name: bytes, skip: int = 0) -> list[_Box]:
    """Boxes of that name directly inside; `skip` passes over a parent's version and flags."""
    return [box for _, start, end in parents for box in _boxes(data, start + skip, end) if box[0] == name]


def _boxes(data: bytes, at: int, end: int) -> Iterator[_Box]:
    for _ in range(MOST_PIECES):
        if at >= end:
            return
        length, name = struct.unpack_from(">I4s", data, at)
        start = at + 8
        if length == 1:
            (length,) = struct.unpack_from(">Q", data, start)
            start += 8
        elif length == 0:
            length = end - at
        _need(start <= at + length <= end)
        yield name, start, at + length
        at += length
    raise NotAPicture(_LOADED)
