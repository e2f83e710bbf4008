import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.photos.sniff import Header, NotAPicture, sniff
from tests.photos import hostile

HARMLESS = hostile.harmless()
HURTFUL = hostile.hurtful()


@pytest.mark.parametrize(("name", "data", "kind"), HARMLESS, ids=[row[0] for row in HARMLESS])
def test_an_odd_but_harmless_photo_is_read(name, data, kind):
    header = sniff(data)
    assert (header.kind, header.width, header.height) == (kind, 200, 150)


@pytest.mark.parametrize(("name", "data", "says"), HURTFUL, ids=[row[0] for row in HURTFUL])
def test_a_hurtful_file_is_refused_with_a_sentence(name, data, says):
    started = time.perf_counter()
    with pytest.raises(NotAPicture, match=says) as refused:
        sniff(data)
    assert str(refused.value).endswith(".")
    assert time.perf_counter() - started < 5


def test_bytes_behind_the_picture_are_remarked():
    assert sniff(hostile.polyglot()).remarks
    assert not sniff(hostile.JPEG).remarks


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "WEBP"])
@pytest.mark.parametrize("size", [(64, 64), (65, 200), (333, 97)])
def test_sides_are_read_as_saved(kind, size):
    data = hostile.saved(hostile.picture(*size), kind) + b"\0" * 128
    header = sniff(data)
    assert (header.width, header.height) == size


def outcome(data):
    try:
        return sniff(data)
    except NotAPicture as refused:
        return str(refused)


MARKS = [hostile.JPEG_MARK, hostile.PNG_MARK, b"RIFF\0\1\0\0WEBPVP8X", b"\0\0\0\x18ftypheic", b""]


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(MARKS), st.binary(min_size=100, max_size=600))
def test_any_bytes_get_a_header_or_a_sentence(mark, data):
    assert isinstance(outcome(mark + data), Header | str)


GOOD = [row[1] for row in HARMLESS if len(row[1]) < 60_000]


@settings(max_examples=600, deadline=None)
@given(st.data())
def test_any_damage_to_a_good_file_gets_a_header_or_a_sentence(data):
    whole = bytearray(data.draw(st.sampled_from(GOOD)))
    for _ in range(data.draw(st.integers(1, 4))):
        # headers sit in front, so most blows land there
        at = data.draw(st.integers(0, min(len(whole) - 1, 700)) | st.integers(0, len(whole) - 1))
        blow = data.draw(st.sampled_from(["set", "cut", "insert", "drop", "swap"]))
        if blow == "set":
            whole[at] = data.draw(st.integers(0, 255))
        elif blow == "cut":
            whole = whole[: max(at, 1)]
        elif blow == "insert":
            whole[at:at] = data.draw(st.binary(max_size=20))
        elif blow == "drop":
            del whole[at : at + data.draw(st.integers(1, 20))]
            whole = whole or bytearray(1)
        else:
            whole[at : at + 4] = data.draw(
                st.sampled_from([b"\xff\xff\xff\xff", b"\0\0\0\0", b"\x7f\xff\xff\xff"])
            )
    assert isinstance(outcome(bytes(whole)), Header | str)
