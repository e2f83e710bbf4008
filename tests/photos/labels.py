"""Photos of labels as a phone takes them: askew, in half light, a little blurred, noisy, behind JPEG."""

import io

import numpy
import zxingcpp
from PIL import Image, ImageFilter

KINDS = ("Code39", "Code128", "DataMatrix", "QRCode")
SIZE = (1600, 1200)


def symbol(kind: str, text: str) -> Image.Image:
    """The code alone, black on white, each module four pixels."""
    made = zxingcpp.create_barcode(text, getattr(zxingcpp.BarcodeFormat, kind))
    return Image.fromarray(numpy.array(zxingcpp.write_barcode_to_image(made, scale=4)))


def photo(*symbols: Image.Image, degrees: float = 0, light: float = 1.0, seed: int = 1) -> bytes:
    """A grey card with the symbols below each other. `light` is the share of full light that falls on it."""
    card = Image.new("L", SIZE, 200)
    for place, one in enumerate(symbols, 1):
        middle = SIZE[1] * place // (len(symbols) + 1)
        card.paste(one, ((SIZE[0] - one.width) // 2, middle - one.height // 2))
    seen = card.rotate(degrees, fillcolor=120, resample=Image.Resampling.BICUBIC)
    seen = seen.filter(ImageFilter.GaussianBlur(1.2))
    noise = numpy.random.default_rng(seed).normal(0, 6, SIZE[::-1])
    lit = numpy.asarray(seen).astype(float) * light + noise
    out = io.BytesIO()
    Image.fromarray(lit.clip(0, 255).astype("uint8")).save(out, "JPEG", quality=80)
    return out.getvalue()
