"""Pictures drawn by code, so that the demo shows no real car: an edge, its light, a hand's worth of noise."""

import io
import random

from PIL import Image, ImageDraw, ImageFilter

SIZE = (1400, 1050)


def edge_photo(seed: str, words: str) -> bytes:
    """A JPEG of an invented panel edge; other seeds give other bytes, the same seed the same."""
    chance = random.Random(seed)
    ground = tuple(chance.randint(40, 110) for _ in range(3))
    image = Image.new("RGB", SIZE, ground)
    pen = ImageDraw.Draw(image)
    tilt = chance.randint(-160, 160)
    for n in range(0, SIZE[1], 6):
        shade = int(55 * n / SIZE[1])
        pen.line(
            [(0, n), (SIZE[0], n + tilt // 8)], fill=tuple(min(255, part + shade) for part in ground), width=6
        )
    low = chance.randint(520, 640)
    pen.polygon(
        [(0, low), (SIZE[0], low + tilt), (SIZE[0], SIZE[1]), (0, SIZE[1])],
        fill=tuple(part // 3 for part in ground),
    )
    pen.line([(0, low), (SIZE[0], low + tilt)], fill=(236, 238, 240), width=5)
    for _ in range(260):
        x, y = chance.randint(0, SIZE[0]), chance.randint(0, SIZE[1])
        pen.point((x, y), fill=tuple(chance.randint(120, 220) for _ in range(3)))
    pen.rectangle([40, 40, 40 + 12 * len(words) + 30, 100], fill=(244, 245, 241))
    pen.text((56, 56), words, fill=(20, 32, 43), font_size=26)
    out = io.BytesIO()
    image.filter(ImageFilter.SHARPEN).save(out, "JPEG", quality=82)
    return out.getvalue()
