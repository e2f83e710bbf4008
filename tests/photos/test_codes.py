"""Codes are read from photos at 15° and in half light; where there is none, none is made up."""

import pytest

from shop.photos import actions, codes, decode
from shop.reasons import Refused
from tests.photos.labels import KINDS, photo, symbol

TEXT = "1M8GDM9AXKP042788"


def read(tmp_path, data: bytes) -> list[codes.Code]:
    file = tmp_path / "label.jpg"
    file.write_bytes(data)
    return codes.read(str(file), "jpeg")


@pytest.mark.parametrize("degrees", [0, 15, -15])
@pytest.mark.parametrize("light", [1.0, 0.5])
@pytest.mark.parametrize("kind", KINDS)
def test_a_code_at_an_angle_and_in_half_light(tmp_path, kind, light, degrees):
    found = read(tmp_path, photo(symbol(kind, TEXT), degrees=degrees, light=light))
    assert [code.text for code in found] == [TEXT]
    assert found[0].kind.replace(" ", "") == kind


def test_two_codes_on_one_label_come_in_reading_order(tmp_path):
    data = photo(symbol("Code128", "L-2209"), symbol("QRCode", "R-1"))
    assert [code.text for code in read(tmp_path, data)] == ["L-2209", "R-1"]


def test_a_photo_without_a_code_gives_nothing(tmp_path):
    assert read(tmp_path, photo()) == []


def test_what_is_no_photo_is_unreadable(tmp_path):
    with pytest.raises(decode.Unreadable):
        read(tmp_path, photo()[:3000])


def test_the_press_reads_it_and_refuses_what_is_no_picture():
    assert [code.text for code in actions.read_codes(photo(symbol("QRCode", TEXT)))] == [TEXT]
    with pytest.raises(Refused) as refused:
        actions.read_codes(b"%PDF-1.7" + b"\0" * 500)
    assert {reason.code for reason in refused.value.reasons} == {"photo_unreadable"}
