import io
import random

import numpy
import pytest
from PIL import Image, ImageDraw, ImageEnhance, ImageFilter

from shop.photos.quality import dhash, distance, is_blank, judge, sharpness


def scene(seed=1, size=(1200, 900)):
    """A made scene with edges at many places, as a panel with trim and reflections has."""
    rng = random.Random(seed)
    image = Image.new("RGB", size, (90, 100, 110))
    draw = ImageDraw.Draw(image)
    for _ in range(40):
        x, y = rng.randrange(size[0]), rng.randrange(size[1])
        box = [x, y, x + rng.randrange(30, 400), y + rng.randrange(30, 300)]
        draw.rectangle(box, fill=tuple(rng.randrange(256) for _ in range(3)))
    return image


def resaved(image, quality):
    out = io.BytesIO()
    image.save(out, "JPEG", quality=quality)
    return Image.open(io.BytesIO(out.getvalue()))


def test_blur_lowers_sharpness_step_by_step():
    grey = scene().convert("L")
    values = [sharpness(numpy.asarray(grey.filter(ImageFilter.GaussianBlur(r)))) for r in (0, 0.5, 1, 2, 4)]
    assert values == sorted(values, reverse=True)
    assert values[0] > 20 * values[3]


def test_the_sharpest_tile_counts():
    soft = scene().filter(ImageFilter.GaussianBlur(8))
    corner = soft.copy()
    corner.paste(scene().resize((300, 225)), (0, 0))
    assert judge(corner).sharpness > 10 * judge(soft).sharpness


def test_sharpness_is_looked_at_small():
    large = scene(size=(3000, 2250))
    small = large.copy()
    small.thumbnail((1024, 1024), Image.Resampling.LANCZOS)
    assert judge(large).sharpness == pytest.approx(judge(small).sharpness, rel=0.1)
    assert sharpness(numpy.asarray(large.convert("L"))) < 0.9 * judge(large).sharpness


@pytest.mark.parametrize("shape", [(1, 1), (2, 500), (3, 3), (5, 400)])
def test_tiny_pictures_have_a_sharpness_too(shape):
    assert sharpness(numpy.zeros(shape, dtype=numpy.uint8)) == 0


def noisy(level, noise, specks=0):
    rng = numpy.random.default_rng(4)
    grey = numpy.clip(rng.normal(level, noise, (600, 800)), 0, 255).astype(numpy.uint8)
    grey.flat[:specks] = 128
    return grey


@pytest.mark.parametrize(
    ("grey", "blank"),
    [
        (noisy(0, 0), True),
        (noisy(3, 2), True),
        (noisy(255, 0), True),
        (noisy(254, 1), True),
        (noisy(3, 2, specks=600), True),
        # a gloss-black panel with one lamp in it
        (noisy(3, 2, specks=9_600), False),
        (noisy(30, 2), False),
        (noisy(128, 0), False),
        (noisy(235, 2), False),
    ],
)
def test_blank_is_all_black_or_all_white(grey, blank):
    assert is_blank(grey) is blank


@pytest.mark.parametrize(
    ("changed", "most"),
    [
        (lambda image: resaved(image, 40), 2),
        (lambda image: image.resize((600, 450)), 2),
        (lambda image: ImageEnhance.Brightness(image).enhance(1.1), 4),
        (lambda image: image.filter(ImageFilter.GaussianBlur(2)), 2),
    ],
)
def test_the_same_picture_stays_near(changed, most):
    assert distance(dhash(scene()), dhash(changed(scene()))) <= most


def test_other_pictures_and_turned_ones_are_far():
    hashes = [dhash(scene(seed)) for seed in range(12)]
    apart = [distance(a, b) for i, a in enumerate(hashes) for b in hashes[:i]]
    assert min(apart) >= 8
    assert distance(hashes[0], dhash(scene(0).rotate(180))) >= 8
    assert distance(hashes[0], dhash(scene(0).transpose(Image.Transpose.FLIP_LEFT_RIGHT))) >= 8


def test_a_hash_is_sixteen_hex_digits_row_by_row():
    falling_then_rising = Image.new("L", (9, 8), 200)
    for x in range(9):
        for y in range(4, 8):
            falling_then_rising.putpixel((x, y), 10 * x)
    assert dhash(falling_then_rising) == "00000000ffffffff"


def test_a_verdict_holds_plain_values():
    verdict = judge(scene().convert("CMYK"))
    assert (type(verdict.sharpness), type(verdict.dhash), verdict.blank) == (int, str, False)
