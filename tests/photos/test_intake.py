"""Photos taken in: good ones kept whole and shown clean, hostile ones refused with a sentence and without a trace."""

import io
from datetime import timedelta
from hashlib import sha256
from pathlib import Path

import pytest
from PIL import Image, ImageChops

from shop import store
from shop.models import Photo
from shop.photos.actions import examine, keep, shelve
from shop.reasons import Refused
from tests import make
from tests.photos import pictures

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def own_data(settings, tmp_path):
    settings.SHOP_DATA = tmp_path
    settings.FILE_UPLOAD_TEMP_DIR = tmp_path / "incoming"
    settings.FILE_UPLOAD_TEMP_DIR.mkdir()
    return tmp_path


@pytest.fixture
def shop():
    return make.workshop()


def take(shop, data, name="", **rest):
    return keep(workshop=shop, data=data, name=name, by=None, now=make.NOW, **rest)


def codes(error):
    return [reason.code for reason in error.value.reasons]


def opened(photo, variant):
    return Image.open(io.BytesIO(store.open_bytes(photo.sha256, variant)))


def files(folder: Path):
    return [p for p in folder.rglob("*") if p.is_file()]


def test_the_bytes_sent_are_kept_as_they_are_beside_two_sizes(shop):
    data = pictures.jpeg((4000, 3000))
    photo = take(shop, data, "IMG_1.JPG")
    assert store.open_bytes(photo.sha256) == data and photo.sha256 == sha256(data).hexdigest()
    assert (photo.w, photo.h, photo.type, photo.size) == (4000, 3000, "jpeg", len(data))
    assert opened(photo, "screen").size == (1600, 1200) and opened(photo, "print").size == (400, 300)
    for variant in ("screen", "print"):
        assert sha256(store.open_bytes(photo.sha256, variant)).hexdigest() == photo.verdict[variant]


def test_a_smaller_photo_is_not_blown_up(shop):
    assert opened(take(shop, pictures.jpeg((1000, 800))), "screen").size == (1000, 800)


def test_the_same_bytes_in_one_workshop_are_one_photo(shop):
    data = pictures.jpeg()
    first, again = take(shop, data, "a.jpg"), take(shop, data, "b.jpg")
    elsewhere = take(make.workshop(), data)
    assert first == again and elsewhere.pk != first.pk
    assert Photo.objects.count() == 2


def test_examined_and_not_shelved_leaves_nothing(shop, own_data):
    found = examine(pictures.jpeg(), name="a.jpg")
    assert Photo.objects.count() == 0 and not (own_data / "photos").exists()
    photo = shelve(found, workshop=shop, by=None, now=make.NOW, klass=Photo.Klass.DOCUMENT)
    del found
    assert photo.klass == "document" and files(own_data / "incoming") == []


@pytest.mark.parametrize("name", pictures.odd_but_taken())
def test_odd_photos_are_taken_and_their_sizes_are_plain(shop, name):
    data = pictures.odd_but_taken()[name]
    photo = take(shop, data)
    assert store.open_bytes(photo.sha256) == data
    for variant in ("screen", "print"):
        small = store.open_bytes(photo.sha256, variant)
        picture = opened(photo, variant)
        assert (picture.format, picture.mode) == ("JPEG", "RGB")
        assert not picture.getexif() and set(picture.info) <= {
            "jfif",
            "jfif_version",
            "jfif_unit",
            "jfif_density",
        }
        assert b"script" not in small and b"PK\x03\x04" not in small and b"Exif" not in small


@pytest.mark.parametrize("name", ["cmyk jpeg", "16-bit grey png", "palette png", "png with alpha", "webp"])
def test_odd_photos_still_show_their_scene(shop, name):
    seen = opened(take(shop, pictures.odd_but_taken()[name]), "screen").convert("L").resize((60, 45))
    meant = pictures.scene().convert("L").resize((60, 45))
    (_, worst) = ImageChops.difference(seen, meant).getextrema()
    assert worst < 40


HOSTILE = pictures.hostile()


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_files_get_a_sentence_and_leave_no_trace(shop, own_data, name):
    with pytest.raises(Refused) as error:
        take(shop, HOSTILE[name], "IMG_0001.jpg")
    assert codes(error) == ["photo_unreadable"]
    text = error.value.reasons[0].text
    assert text[0].isupper() and text.endswith(".") and "Error" not in text and "/" not in text
    assert Photo.objects.count() == 0 and files(own_data) == []


@pytest.mark.parametrize(
    "name",
    [
        "photo.svg",
        "photo",
        "photo.",
        ".jpg",
        "x.jpg.html",
        "a\0.jpg",
        "gpj.\u202ephoto.jpg",
        "a/b.exe",
        "..\\..\\x",
    ],
)
def test_names_that_are_no_photos(shop, name):
    with pytest.raises(Refused) as error:
        take(shop, pictures.jpeg(), name)
    assert codes(error) == ["photo_unreadable"]


@pytest.mark.parametrize(
    "name", ["../../../etc/x.jpg", "a" * 5000 + ".jpeg", "CON.JPG", "ätsch bätsch.jpg", "x.HEIC"]
)
def test_a_name_never_becomes_a_path(shop, own_data, name):
    photo = take(shop, pictures.jpeg(), name)
    assert {p.name.split(".")[0] for p in files(own_data)} == {photo.sha256}


def test_a_wrong_ending_within_the_family_is_noted(shop):
    photo = take(shop, pictures.saved(pictures.scene(), "PNG"), "IMG_7.jpg")
    assert (photo.type, photo.verdict["named"]) == ("png", "jpeg")


def test_heic_is_taken(shop):
    import pillow_heif

    out = io.BytesIO()
    pillow_heif.from_pillow(pictures.scene()).save(out, quality=70)
    photo = take(shop, out.getvalue(), "IMG_8.HEIC")
    assert photo.type == "heif" and opened(photo, "screen").size == (1200, 900)


@pytest.mark.parametrize("size", [(1200, 799), (799, 1200), (640, 480)])
def test_too_small_is_refused_with_its_size(shop, size):
    with pytest.raises(Refused, match=f"{size[0]} × {size[1]}") as error:
        take(shop, pictures.jpeg(size))
    assert codes(error) == ["photo_small"]


def test_eight_hundred_is_enough(shop):
    assert take(shop, pictures.jpeg((1200, 800))).h == 800


@pytest.mark.parametrize("colour", ["black", "white"])
def test_blank_is_refused(shop, own_data, colour):
    with pytest.raises(Refused) as error:
        take(shop, pictures.saved(Image.new("RGB", (1200, 900), colour)))
    assert codes(error) == ["photo_blank"] and files(own_data) == []


def test_rows_that_unpack_to_far_more_than_the_picture_stay_packed(shop):
    with pytest.raises(Refused) as error:
        take(shop, pictures.png(900, 900, rows=b"\0" * 200_000_000))
    assert codes(error) == ["photo_blank"]


def test_small_and_blank_are_said_together(shop):
    with pytest.raises(Refused) as error:
        take(shop, pictures.saved(Image.new("RGB", (600, 450), "black")))
    assert codes(error) == ["photo_small", "photo_blank"]


def test_where_it_was_taken_is_in_the_original_alone(shop):
    data = pictures.jpeg(exif=pictures.exif(gps=True, taken="2026:03:02 09:10:11", offset="+01:00"))
    photo = take(shop, data)
    assert Image.open(io.BytesIO(data)).getexif().get_ifd(0x8825)
    assert photo.taken_text == "2026-03-02 09:10:11+01:00"
    for variant in ("screen", "print"):
        assert not opened(photo, variant).getexif()
        assert b"Maker" not in store.open_bytes(photo.sha256, variant)
    assert "43" not in str(photo.verdict["notes"])


@pytest.mark.parametrize(
    "taken", ["not a day", "0000:00:00 00:00:00", "2026:06:31 10:00:00", "9999:12:31 23:59:59", "1"]
)
def test_a_time_that_is_none_does_no_harm(shop, taken):
    take(shop, pictures.jpeg(exif=pictures.exif(taken=taken)))


def notes(photo):
    return [note.code for note in photo.notes]


def test_an_old_photo_is_said_so(shop):
    fresh = take(shop, pictures.jpeg(seed=1, exif=pictures.exif(taken="2026:03:02 09:55:00")))
    old = take(shop, pictures.jpeg(seed=2, exif=pictures.exif(taken="2024:05:03 12:00:00")))
    assert notes(fresh) == [] and notes(old) == ["photo_old"] and "3 May 2024" in old.notes[0].text


def test_a_photo_that_waited_on_its_tablet_is_not_old(shop):
    data = pictures.jpeg(exif=pictures.exif(taken="2026:02:27 15:00:00"))
    pressed = make.NOW - timedelta(days=2, hours=18)
    assert notes(take(shop, data, pressed_at=pressed)) == []


def test_the_same_scene_saved_again_looks_alike(shop):
    first = take(shop, pictures.jpeg(quality=90))
    again = take(shop, pictures.jpeg(quality=40))
    other = take(shop, pictures.jpeg(seed=9))
    assert (notes(first), notes(again), notes(other)) == ([], ["look_alike"], [])
    assert f"photo {first.pk}" in again.notes[0].text


def test_a_blurred_photo_is_said_so(shop):
    soft = pictures.scene((120, 90)).resize((1200, 900), Image.Resampling.BICUBIC)
    assert "blur" in notes(take(shop, pictures.saved(soft.resize((60, 45)).resize((1200, 900)))))


def test_another_workshops_person_keeps_nothing_here(shop, own_data):
    from shop.people.identity import Claimed

    otto = make.person(make.workshop(), "Otto", "installer")
    with pytest.raises(Refused) as error:
        keep(workshop=shop, data=pictures.jpeg(), by=Claimed(otto), now=make.NOW)
    assert codes(error) == ["other_workshop"] and files(own_data) == []


def test_a_decoder_that_dies_is_a_sentence(shop, own_data, monkeypatch):
    from shop import press

    def dead(*_, **__):
        raise press.PressFailed("The program that works on this stopped halfway.")

    monkeypatch.setattr(press, "run", dead)
    with pytest.raises(Refused) as error:
        take(shop, pictures.jpeg())
    assert codes(error) == ["photo_unreadable"] and files(own_data) == []
