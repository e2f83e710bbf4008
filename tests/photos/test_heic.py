"""HEIC, as phones send it: taken whole and shown upright; hostile ones are refused, and the press lives on."""

import functools
import io
import random
import struct

import numpy
import pillow_heif
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageColor

from shop import press, store
from shop.models import Photo
from shop.photos import decode, sniff
from shop.photos.actions import examine, keep
from shop.photos.fields import PhotoField
from shop.reasons import Refused
from tests import make
from tests.photos import pictures, presswork

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def own_data(settings, tmp_path):
    settings.SHOP_DATA = tmp_path
    settings.FILE_UPLOAD_TEMP_DIR = tmp_path / "incoming"
    settings.FILE_UPLOAD_TEMP_DIR.mkdir()
    return tmp_path


def heic(*images, **options) -> bytes:
    return made_once() if not images and not options else encoded(*images, **options)


@functools.cache
def made_once() -> bytes:
    """Encoding is the slow part, and most cases begin with the same picture."""
    return encoded(pictures.scene())


def encoded(*images, **options) -> bytes:
    file = pillow_heif.HeifFile()
    for image in images:
        file.add_from_pillow(image)
    out = io.BytesIO()
    file.save(out, **({"quality": 60} | options))
    return out.getvalue()


def take(data: bytes, name="IMG_0001.HEIC") -> Photo:
    return keep(workshop=make.workshop(), data=data, name=name, by=None, now=make.NOW)


def shown(photo: Photo, variant="screen") -> Image.Image:
    return Image.open(io.BytesIO(store.open_bytes(photo.sha256, variant)))


def test_the_bytes_stay_and_two_plain_jpegs_are_made_of_them():
    data = heic(pictures.scene((1800, 1200)))
    photo = take(data)
    assert (photo.type, photo.w, photo.h) == ("heif", 1800, 1200)
    assert store.open_bytes(photo.sha256) == data
    for variant, size in (("screen", (1600, 1067)), ("print", (400, 267))):
        made = shown(photo, variant)
        assert made.format == "JPEG" and made.size == size and not made.getexif()
    assert photo.verdict["dhash"] and photo.verdict["sharpness"] > 0


def test_a_desk_form_takes_it_as_any_other_photo():
    found = PhotoField().clean(SimpleUploadedFile("IMG_7.heic", heic(), "image/heic"))
    assert (found.kind, found.named) == ("heif", "heif")
    assert ".heic" in PhotoField().widget.attrs["accept"]


def test_what_the_camera_says_of_the_hour_is_read_and_left_out_of_what_is_shown():
    image = pictures.scene()
    image.info["exif"] = pictures.exif(taken="2026:03:02 09:14:05", offset="+01:00", gps=True).tobytes()
    photo = take(heic(image))
    assert photo.taken_text == "2026-03-02 09:14:05+01:00"
    assert b"Maker of this camera" not in store.open_bytes(photo.sha256, "screen")


# `irot` counts quarters against the clock: ISO/IEC 23008-12, image rotation.
@pytest.mark.parametrize(
    ("quarters", "corner", "size"),
    [(2, "red", (1200, 900)), (0, "yellow", (1200, 900)), (1, "blue", (900, 1200)), (3, "lime", (900, 1200))],
)
def test_a_turn_is_done_once_though_the_camera_notes_it_as_well(quarters, corner, size):
    """The container turns the picture; the camera's own note of the same turn is not obeyed on top of it."""
    image = pictures.quarters((1200, 900))
    image.info["exif"] = pictures.exif(turn=3).tobytes()
    data = heic(image)
    assert data.count(b"irot\x02") == 1
    photo = take(data.replace(b"irot\x02", b"irot" + bytes([quarters])))
    made = shown(photo)
    assert made.size == size == (photo.w, photo.h)
    seen, wanted = numpy.array(made.getpixel((20, 20))), numpy.array(ImageColor.getrgb(corner))
    assert numpy.abs(seen - wanted).max() < 30


def test_clear_parts_are_shown_on_white_and_deep_colours_in_eight_bits():
    clear = Image.new("RGBA", (1200, 900), (0, 0, 0, 0))
    clear.paste(pictures.scene((1200, 500)), (0, 0))
    assert shown(take(heic(clear))).getpixel((600, 850)) == (255, 255, 255)
    deep = numpy.asarray(pictures.scene()).astype(numpy.uint16) * 257
    out = io.BytesIO()
    pillow_heif.encode("RGB;16", (1200, 900), deep.tobytes(), out, quality=60)
    made = shown(keep(workshop=make.workshop(), data=out.getvalue(), by=None, now=make.NOW))
    assert made.mode == "RGB" and made.size == (1200, 900)


def refused(data: bytes, name="IMG_1.heic", codes=("photo_unreadable",)) -> str:
    with pytest.raises(Refused) as caught:
        examine(data, name=name)
    assert {reason.code for reason in caught.value.reasons} <= set(codes)
    return str(caught.value.reasons[0].text)


def claiming(data: bytes, width: int, height: int) -> bytes:
    at = data.index(b"ispe") + 8
    return data[:at] + struct.pack(">II", width, height) + data[at + 8 :]


@pytest.mark.parametrize("size", [(60_000, 60_000), (12_001, 900), (9_000, 9_000), (30, 30), (0, 0)])
def test_a_size_no_bay_camera_has_is_refused_before_any_decoder_sees_it(size):
    assert f"{size[0]} × {size[1]}" in refused(claiming(heic(), *size))


def test_a_size_that_is_not_that_of_the_pixels_is_refused():
    """The decoder stops, or has nothing but black to show for what is not there."""
    assert refused(claiming(heic(), 2400, 1800), codes=("photo_unreadable", "photo_blank"))


def test_a_film_and_other_pictures_in_the_same_box_are_refused():
    data = heic()
    assert "moving" in refused(data.replace(b"ftypheic", b"ftyphevc", 1))
    assert "moving" in refused(data.replace(b"ftypheic", b"ftypmsf1", 1))
    (end,) = struct.unpack_from(">I", data)
    assert "AVIF" in refused(
        struct.pack(">I", end) + b"ftypavif\0\0\0\0" + b"avif" * ((end - 16) // 4) + data[end:]
    )


def test_a_box_full_of_hidden_data_is_refused():
    at = heic().index(b"meta") - 4
    data = heic()
    (length,) = struct.unpack_from(">I", data, at)
    stuffing = struct.pack(">I4s", 1_200_008, b"free") + b"z" * 1_200_000
    loaded = data[:at] + struct.pack(">I", length + len(stuffing)) + data[at + 4 : at + length] + stuffing
    assert "hidden data" in refused(loaded + data[at + length :])


@pytest.mark.parametrize("share", [0.02, 0.2, 0.5, 0.8, 0.97])
def test_half_a_file_is_refused_wherever_it_was_cut(share):
    data = heic()
    assert refused(data[: int(len(data) * share)])


def test_damage_anywhere_is_a_sentence_and_never_takes_the_press_along():
    data, chance = heic(pictures.scene((900, 900))), random.Random(11)
    sniffed = taken = 0
    for _ in range(12):
        hurt = bytearray(data)
        for _ in range(chance.choice([1, 8, 60])):
            hurt[chance.randrange(12, len(hurt))] = chance.randrange(256)
        try:
            examine(bytes(hurt), name="x.heic")
            taken += 1
        except Refused as caught:
            sniffed += 1
            assert caught.reasons[0].code in ("photo_unreadable", "photo_blank", "photo_small")
    assert sniffed + taken == 12
    assert press.run(presswork.double, 4) == 8


def test_several_pictures_in_one_file_give_the_first_and_no_more():
    """Bursts and depth maps: the picture the file itself calls its main one is the photo."""
    first, second = pictures.quarters(), pictures.scene(seed=5)
    photo = take(heic(first, second))
    red, green, blue = shown(photo).getpixel((50, 50))
    assert red > 200 and green < 60 and blue < 60


def test_only_the_decoder_of_its_kind_is_asked(tmp_path):
    """A HEIC that is called a JPEG further on would find no decoder that opens it."""
    file = tmp_path / "x"
    file.write_bytes(heic())
    assert sniff.sniff(file.read_bytes()).kind == "heif"
    with pytest.raises(decode.Unreadable):
        press.run(decode.decode, str(file), "jpeg")
