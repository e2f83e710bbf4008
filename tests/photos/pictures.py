"""Pictures drawn for tests: good ones, odd ones that are taken, and hostile ones that are not."""

import functools
import io
import struct
import zlib

import numpy
from PIL import Image, ImageCms, PngImagePlugin

SIZE = (1200, 900)


def scene(size=SIZE, seed=1) -> Image.Image:
    """A picture with large shapes and fine detail everywhere, another one for every seed."""
    return Image.blend(_noise(size, seed, 150), _noise(size, seed + 1000, 4), 0.4)


def _noise(size, seed, grain) -> Image.Image:
    shape = (max(2, size[1] // grain), max(2, size[0] // grain), 3)
    rough = numpy.random.default_rng(seed).integers(10, 245, shape, dtype=numpy.uint8)
    return Image.fromarray(rough).resize(size, Image.Resampling.BICUBIC)


def saved(image: Image.Image, kind="JPEG", **options) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def jpeg(size=SIZE, seed=1, **options) -> bytes:
    return saved(scene(size, seed), "JPEG", **({"quality": 85} | options))


def exif(*, turn=None, taken=None, offset=None, gps=False) -> Image.Exif:
    data = Image.Exif()
    if turn is not None:
        data[0x0112] = turn
    inner = {}
    if taken:
        inner[0x9003] = taken
    if offset:
        inner[0x9011] = offset
    if inner:
        data._ifds[0x8769] = inner
        data[0x8769] = inner
    if gps:
        data[0x8825] = {1: "N", 2: (43.0, 21.0, 9.0), 3: "W", 4: (5.0, 50.0, 41.0)}
    data[0x010F] = "Maker of this camera"
    return data


def quarters(size=(1200, 900)) -> Image.Image:
    """Red, green / blue, yellow: any turn can be told from any other."""
    w, h = size[0] // 2, size[1] // 2
    image = Image.new("RGB", size)
    for colour, at in (("red", (0, 0)), ("lime", (w, 0)), ("blue", (0, h)), ("yellow", (w, h))):
        image.paste(colour, (*at, at[0] + w, at[1] + h))
    return image


def chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def png(width, height, *, bits=8, colour=2, rows=b"", extra=b"") -> bytes:
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, bits, colour, 0, 0, 0))
    body = chunk(b"IDAT", zlib.compress(rows, 9))
    return b"\x89PNG\r\n\x1a\n" + head + extra + body + chunk(b"IEND", b"")


def with_segment(data: bytes, marker: int, content: bytes) -> bytes:
    """A JPEG with one more segment right after its start."""
    return data[:2] + bytes([0xFF, marker]) + struct.pack(">H", len(content) + 2) + content + data[2:]


def claiming(data: bytes, width: int, height: int) -> bytes:
    """A JPEG whose frame claims another size than it has."""
    at = data.index(b"\xff\xc0") + 5
    return data[:at] + struct.pack(">HH", height, width) + data[at + 4 :]


@functools.cache
def odd_but_taken() -> dict[str, bytes]:
    base = scene()
    plain = jpeg()
    text = PngImagePlugin.PngInfo()
    text.add_text("Comment", "<script>alert(1)</script>")
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    deep = numpy.asarray(base.convert("L")).astype(numpy.uint16) * 257
    second = scene(seed=2)
    return {
        "cmyk jpeg": saved(base.convert("CMYK"), "JPEG"),
        "grey jpeg": saved(base.convert("L"), "JPEG"),
        "progressive jpeg": saved(base, "JPEG", progressive=True),
        "two pictures in one jpeg": saved(base, "MPO", save_all=True, append_images=[second]),
        "16-bit grey png": saved(Image.fromarray(deep), "PNG"),
        "palette png": saved(base.quantize(64), "PNG"),
        "palette png with a clear colour": saved(base.quantize(64), "PNG", transparency=3),
        "png with alpha": saved(base.convert("RGBA"), "PNG"),
        "grey png with alpha": saved(base.convert("LA"), "PNG"),
        "black and white png": saved(base.convert("1"), "PNG"),
        "png with a script as text": saved(base, "PNG", pnginfo=text),
        "webp": saved(base, "WEBP", quality=80),
        "webp without loss, with alpha": saved(base.convert("RGBA"), "WEBP", lossless=True),
        "profile of its own colours": saved(base, "JPEG", icc_profile=srgb),
        "profile of another kind of picture": saved(base.convert("L"), "JPEG", icc_profile=srgb),
        "profile that is none": saved(base, "JPEG", icc_profile=b"nothing" * 50),
        "html in a comment": with_segment(plain, 0xFE, b"<html><script>alert(1)</script></html>"),
        "zip behind the picture": plain + b"PK\x03\x04" + b"z" * 2000,
        "page behind the picture": plain + b"<html><script>alert(1)</script></html>",
        "orientation that is none": saved(base, "JPEG", exif=exif(turn=9)),
        "exif that bites its own tail": with_segment(plain, 0xE1, LOOPING_EXIF),
        "exif that counts to two thousand million": with_segment(plain, 0xE1, BOASTING_EXIF),
        "exif cut short": with_segment(plain, 0xE1, b"Exif\0\0MM\0*\0\0"),
    }


LOOPING_EXIF = b"Exif\0\0" + b"MM\0*" + struct.pack(">IHHHII", 8, 1, 0x8769, 4, 1, 8) + struct.pack(">I", 8)
BOASTING_EXIF = b"Exif\0\0" + b"MM\0*" + struct.pack(">IHHHII", 8, 1, 0x9003, 2, 2**31, 8) + b"\0\0\0\0"


@functools.cache
def hostile() -> dict[str, bytes]:
    """What is refused, whatever it is called."""
    plain = jpeg()
    whole_png = saved(scene(), "PNG")
    whole_webp = saved(scene(), "WEBP")
    frames = [scene((900, 900), seed) for seed in (1, 2)]
    bomb = zlib.compress(b"\0" * 200_000_000, 9)
    return {
        "nothing": b"",
        "one byte": b"\xff",
        "text": b"This is not a photo. " * 20,
        "random bytes": numpy.random.default_rng(3).bytes(5000),
        "random bytes after a jpeg's first three": b"\xff\xd8\xff" + numpy.random.default_rng(4).bytes(5000),
        "random bytes after a png's first eight": b"\x89PNG\r\n\x1a\n"
        + numpy.random.default_rng(5).bytes(5000),
        "random bytes after a webp's first twelve": b"RIFF\x90\x13\0\0WEBP"
        + numpy.random.default_rng(6).bytes(5000),
        "random bytes after a heic's first twelve": b"\0\0\0\x18ftypheic"
        + numpy.random.default_rng(7).bytes(5000),
        "gif": saved(scene(), "GIF"),
        "tiff": saved(scene(), "TIFF"),
        "bmp": saved(scene(), "BMP"),
        "eps": b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 900 900\n(x) run\n" * 3,
        "pdf": b"%PDF-1.7\n1 0 obj\n<</Type/Catalog>>\nendobj\n" * 5,
        "svg": b"<svg xmlns='http://www.w3.org/2000/svg' width='900' height='900'><script>1</script></svg>"
        * 2,
        "web page": b"<!doctype html><html><body><script>alert(1)</script></body></html>" * 3,
        "web page before a jpeg": b"<html><script>alert(1)</script></html>" + plain,
        "jpeg cut short": plain[: len(plain) // 2],
        "png cut short": whole_png[: len(whole_png) // 2],
        "webp cut short": whole_webp[: len(whole_webp) // 2],
        "png with a wrong check sum": whole_png[:-20] + bytes([whole_png[-20] ^ 255]) + whole_png[-19:],
        "png of 50,000 a side": png(50_000, 50_000, bits=1, colour=0),
        "png of 20,000 a side": png(20_000, 20_000),
        "png of 9,400 a side with alpha": png(9_400, 9_400, colour=6),
        "png one pixel high": png(65_000, 1),
        "webp of 268 million pixels": b"RIFF\x1a\0\0\0WEBPVP8L\x0d\0\0\0\x2f\xff\xff\xff\x0f" + b"\0" * 200,
        "jpeg that claims 65,500 a side": claiming(plain, 65_500, 65_500),
        "jpeg that claims a side of nothing": claiming(plain, 0, 900),
        "jpeg with 2,000 scans": plain[:-2] + scan_of(plain) * 2000 + b"\xff\xd9",
        "jpeg with 13 MB of exif": plain[:2] + (b"\xff\xe1\xff\xff" + b"e" * 65533) * 200 + plain[2:],
        "40 MB": plain + b"\0" * 40_000_000,
        "webp that moves": saved(frames[0], "WEBP", save_all=True, append_images=frames[1:]),
        "png that moves": saved(frames[0], "PNG", save_all=True, append_images=frames[1:]),
        "text in a png that unpacks to 200 MB": png(900, 900, extra=chunk(b"zTXt", b"a\0\0" + bomb)),
        "profile in a png that unpacks to 200 MB": png(900, 900, extra=chunk(b"iCCP", b"a\0\0" + bomb)),
        "png with no rows": png(900, 900),
    }


def scan_of(data: bytes) -> bytes:
    start = data.index(b"\xff\xda")
    return data[start : start + 200]
