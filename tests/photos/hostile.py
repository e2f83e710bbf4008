"""Photo files nobody should send, made by code: odd ones that are harmless, and ones that hurt."""

import io
import random
import struct
import zipfile
import zlib

import pillow_heif
from PIL import Image, PngImagePlugin

JPEG_MARK = b"\xff\xd8\xff"
PNG_MARK = b"\x89PNG\r\n\x1a\n"


def picture(width=200, height=150, mode="RGB"):
    grain = random.Random(7).randbytes(width * height)
    return Image.frombytes("L", (width, height), grain).convert(mode)


def saved(image, kind, **options):
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def segment(marker, body):
    return bytes([0xFF, marker]) + struct.pack(">H", len(body) + 2) + body


def with_segments(jpeg, *segments):
    return jpeg[:2] + b"".join(segments) + jpeg[2:]


def chunk(name, body):
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def png(width, height, *, bits=8, colour=2, before=b"", rows=None, end=True):
    packed = zlib.compress(random.Random(5).randbytes(300) if rows is None else rows)
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, bits, colour, 0, 0, 0))
    return PNG_MARK + head + before + chunk(b"IDAT", packed) + (chunk(b"IEND", b"") if end else b"")


def jpeg_claiming(width, height):
    data = saved(picture(), "JPEG")
    at = data.index(b"\xff\xc0")
    return data[: at + 5] + struct.pack(">HH", height, width) + data[at + 9 :]


def progressive_with(scans):
    data = saved(picture(), "JPEG", progressive=True)
    start, end = data.index(b"\xff\xda"), data.rindex(b"\xff\xd9")
    (length,) = struct.unpack_from(">H", data, start + 2)
    one = data[start : start + 2 + length] + b"\x00"
    return data[:end] + one * scans + data[end:]


def riff(*parts):
    body = b"WEBP" + b"".join(
        name + struct.pack("<I", len(data)) + data + b"\0" * (len(data) % 2) for name, data in parts
    )
    return b"RIFF" + struct.pack("<I", len(body)) + body


def lossless_head(width, height):
    return b"\x2f" + struct.pack("<I", (width - 1) | (height - 1) << 14)


def canvas(flags, width, height):
    return bytes([flags, 0, 0, 0]) + (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little")


def heic():
    out = io.BytesIO()
    pillow_heif.from_pillow(picture()).save(out, quality=50)
    return out.getvalue()


def heic_claiming(width, height):
    data = heic()
    at = data.index(b"ispe") + 8
    return data[:at] + struct.pack(">II", width, height) + data[at + 8 :]


def animation(kind):
    return saved(picture(), kind, save_all=True, append_images=[picture().rotate(90)], duration=50)


def exif_with(tag, kind, count, value):
    body = b"Exif\0\0II*\0\x08\0\0\0" + struct.pack("<HHHII", 1, tag, kind, count, value) + b"\0\0\0\0"
    return segment(0xE1, body)


def polyglot():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as bag:
        bag.writestr("hello.txt", "hello")
    return saved(picture(), "JPEG") + out.getvalue()


def with_profile(packed):
    return png(200, 150, before=chunk(b"iCCP", b"p\0\0" + packed))


BOMB = zlib.compress(b"\0" * 200_000_000, 9)
JPEG, PNG, WEBP = saved(picture(), "JPEG"), saved(picture(), "PNG"), saved(picture(), "WEBP")
HTML = b"<!doctype html><script>alert(1)</script>" + b" " * 200


def harmless():
    """Name, bytes, kind: odd files that are taken."""
    exif_loop = exif_with(0x8769, 4, 1, 8)
    text = PngImagePlugin.PngInfo()
    text.add_text("Comment", "x" * 1000, zip=True)
    text.add_itxt("Comment", "y" * 1000, zip=True)
    return [
        ("jpeg", JPEG, "jpeg"),
        ("png", PNG, "png"),
        ("webp lossy", WEBP, "webp"),
        ("webp lossless", saved(picture(), "WEBP", lossless=True), "webp"),
        ("webp with alpha", saved(picture(mode="RGBA"), "WEBP"), "webp"),
        ("heic", heic(), "heif"),
        ("jpeg progressive", saved(picture(), "JPEG", progressive=True), "jpeg"),
        ("jpeg grey", saved(picture(mode="L"), "JPEG"), "jpeg"),
        ("jpeg CMYK", saved(picture(mode="CMYK"), "JPEG"), "jpeg"),
        ("jpeg restarts", saved(picture(), "JPEG", restart_marker_blocks=2), "jpeg"),
        ("jpeg of several", saved(picture(), "MPO", save_all=True, append_images=[picture()]), "jpeg"),
        ("jpeg with profile", saved(picture(), "JPEG", icc_profile=b"\0" * 500), "jpeg"),
        ("jpeg with fill bytes", JPEG[:2] + b"\xff\xff\xff" + JPEG[2:], "jpeg"),
        ("jpeg exif loop", with_segments(JPEG, exif_loop), "jpeg"),
        ("jpeg exif count 2^31", with_segments(JPEG, exif_with(0x010F, 2, 2**31, 8)), "jpeg"),
        ("jpeg orientation 9", with_segments(JPEG, exif_with(0x0112, 3, 1, 9)), "jpeg"),
        ("jpeg comment with markup", with_segments(JPEG, segment(0xFE, HTML)), "jpeg"),
        ("jpeg and zip", polyglot(), "jpeg"),
        ("jpeg then markup", JPEG + HTML, "jpeg"),
        ("png 16 bit grey", saved(picture(mode="I;16"), "PNG"), "png"),
        ("png palette", saved(picture().quantize(16), "PNG", transparency=0), "png"),
        ("png with text", saved(picture(), "PNG", pnginfo=text), "png"),
    ]


def hurtful():
    """Name, bytes, words of the sentence: files that are refused on sight."""
    frames = chunk(b"acTL", struct.pack(">II", 2, 0))
    return [
        ("png 50,000 x 50,000", png(50_000, 50_000, bits=1, colour=0), "pixels"),
        ("png 20,000 x 20,000", png(20_000, 20_000), "pixels"),
        ("png 9,400 x 9,400", png(9_400, 9_400, colour=6), "pixels"),
        ("png 63 wide", png(63, 500), "too small"),
        ("png nought high", png(500, 0), "too small"),
        ("webp 16,383 x 16,383", riff((b"VP8L", lossless_head(16_383, 16_383) + b"\0" * 200)), "pixels"),
        ("webp 34 bytes", riff((b"VP8L", lossless_head(16_383, 16_383) + b"\0\0\0")), "short"),
        (
            "webp canvas that hides a larger picture",
            riff((b"VP8X", canvas(0, 200, 150)), (b"VP8L", lossless_head(9000, 5000) + b"\0" * 200)),
            "damaged",
        ),
        ("webp moving", animation("WEBP"), "moving"),
        ("webp moving by its flag", riff((b"VP8X", canvas(2, 200, 150)), (b"VP8L", b"\0" * 200)), "moving"),
        ("webp cut", WEBP[:-40], "damaged"),
        ("jpeg 65,500 x 65,500", jpeg_claiming(65_500, 65_500), "pixels"),
        ("jpeg 65,500 x 1", jpeg_claiming(65_500, 1), "too small"),
        ("jpeg without height", jpeg_claiming(500, 0), "too small"),
        ("jpeg 2,000 scans", progressive_with(2000), "steps"),
        (
            "jpeg 13 MB of segments",
            with_segments(JPEG, *[segment(0xE1, b"\0" * 65_000)] * 200),
            "hidden data",
        ),
        ("jpeg coded arithmetically", JPEG.replace(b"\xff\xc0", b"\xff\xc9", 1), "coded"),
        ("jpeg without loss", JPEG.replace(b"\xff\xc0", b"\xff\xc3", 1), "coded"),
        ("jpeg of twelve bits", JPEG.replace(b"\xff\xc0\x00\x11\x08", b"\xff\xc0\x00\x11\x0c", 1), "damaged"),
        ("jpeg two frames", with_segments(JPEG, JPEG[JPEG.index(b"\xff\xc0") :][:19]), "damaged"),
        ("jpeg cut", JPEG[: len(JPEG) // 2], "damaged"),
        ("jpeg end mark lost", JPEG[:-2], "damaged"),
        ("jpeg random after the mark", JPEG_MARK + random.Random(3).randbytes(5000), "damaged"),
        ("png random after the mark", PNG_MARK + random.Random(3).randbytes(5000), "damaged"),
        ("webp random after the mark", b"RIFF\x40\x10\0\0WEBP" + random.Random(3).randbytes(4160), "damaged"),
        ("png cut", PNG[: len(PNG) // 2], "damaged"),
        ("png end lost", png(200, 150, rows=b"\1" * 9000, end=False) + b"\0" * 200, "damaged"),
        ("png wrong check sum", PNG[:40] + bytes([PNG[40] ^ 1]) + PNG[41:], "damaged"),
        ("png moving", animation("PNG"), "moving"),
        ("png moving, frames announced only", png(200, 150, before=frames, rows=b"\1" * 90_000), "moving"),
        ("png text bomb", png(200, 150, before=chunk(b"zTXt", b"k\0\0" + BOMB)), "hidden data"),
        (
            "png text bomb, other kind",
            png(200, 150, before=chunk(b"iTXt", b"k\0\1\0\0\0" + BOMB)),
            "hidden data",
        ),
        ("png profile bomb", with_profile(BOMB), "hidden data"),
        ("png in 30,000 pieces", png(200, 150, before=chunk(b"tEXt", b"") * 30_000), "hidden data"),
        ("heic 60,000", heic_claiming(60_000, 60_000), "pixels"),
        ("heic cut", heic()[:-200], "damaged"),
        ("avif", saved(picture(), "AVIF"), "AVIF"),
        ("gif", saved(picture(), "GIF"), "a GIF"),
        ("tiff", saved(picture(), "TIFF"), "a TIFF"),
        ("bmp", saved(picture(), "BMP"), "a BMP"),
        ("eps", b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 10 10\n" + b" " * 100, "an EPS"),
        ("svg", b'<svg xmlns="http://www.w3.org/2000/svg">' + b" " * 200 + b"</svg>", "an SVG"),
        ("html", HTML, "a web page"),
        ("html then jpeg", HTML + JPEG, "a web page"),
        ("pdf", b"%PDF-1.7\n" + b"0" * 500, "a PDF"),
        ("zip", polyglot()[len(JPEG) :] + b"\0" * 200, "a ZIP"),
        ("text", b"hello " * 100, "something else"),
        ("40 MB of junk behind", JPEG + b"\0" * 40_000_000, "larger"),
        ("one byte", b"\xff", "short"),
        ("nothing", b"", "short"),
    ]
