import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.intake import keys

NOISE = str.maketrans({"0": "o", "1": "i"})


@pytest.mark.parametrize(
    ("typed", "kind", "kept"),
    [
        ("1m8gdm9a xkp-o42788", "vin", keys.vin_keys("1M8GDM9AXKP042788")),
        ("im8gdm9axkpQ42788", "vin", keys.vin_keys("1M8GDM9AXKP042788")),
        ("o42788", "last_six", keys.vin_keys("1M8GDM9AXKP042788")),
        ("042 788", "last_six", keys.vin_keys("1M8GDM9AXKP042788")),
        ("frame 77-o1", "chassis", keys.chassis_keys("FRAME77 01")),
        ("me77o1", "last_six", keys.chassis_keys("FRAME77 01")),
        ("ab 12-cde", "plate", keys.plate_keys("AB12 CDE")),
        ("ÄB 1O5", "plate", keys.plate_keys("äb-105")),
        ("bp 2026 oo17", "certificate", keys.certificate_keys("BP-2026-0017")),
        ("lot/44-I", "lot", keys.lot_keys("LOT 441")),
        ("muller", "name", keys.name_keys("Ana Müller")),
        ("MÜLLER, Ana", "name", keys.name_keys("Ana Müller")),
        ("o’neil", "name", keys.name_keys("Zoe O'Neil")),
        ("strasse", "name", keys.name_keys("Kim Straße")),
        ("lodz", "name", keys.name_keys("Łódź")),
        ("(201) 555-0123", "phone", keys.phone_keys("+1 201 555 0123", "US")),
        ("555 0123", "phone_tail", keys.phone_keys("(201) 555-0123", "US")),
        ("0123", "phone_tail", keys.phone_keys("(201) 555-0123", "US")),
        ("2O1 555 O123", "plate", keys.plate_keys("201 555 0123")),
    ],
)
def test_what_is_typed_meets_what_is_kept(typed, kind, kept):
    assert {key for key in keys.query_keys(typed, "US") if key[0] == kind} & set(kept)


# E.164 results as printed by the phonenumbers library for its own documentation numbers.
@pytest.mark.parametrize(
    ("number", "country", "e164"),
    [
        ("(201) 555-0123", "US", "+12015550123"),
        ("07400 123456", "GB", "+447400123456"),
        ("+49 1512 3456789", "US", "+4915123456789"),
        ("+442083661177", "GB", "+442083661177"),
    ],
)
def test_phones_in_international_form(number, country, e164):
    assert (keys.PHONE, e164) in keys.phone_keys(number, country)


@pytest.mark.parametrize("number", ["123", "9" * 19, "call me", "", "+", "１２"])
def test_what_is_no_phone_has_no_international_form(number):
    assert all(kind == keys.PHONE_TAIL for kind, _ in keys.phone_keys(number, "US"))


def test_a_name_is_not_asked_as_a_phone_nor_a_number_as_a_name():
    assert {kind for kind, _ in keys.query_keys("Ana 5550123", "US")} >= {"name"}
    assert "phone_tail" not in {kind for kind, _ in keys.query_keys("Ana 5550123", "US")}
    assert "name" not in {kind for kind, _ in keys.query_keys("5550123", "US")}


def test_nothing_typed_asks_for_nothing():
    assert keys.query_keys("  -- ", "US") == []
    assert keys.vin_keys("") == keys.plate_keys(" ") == keys.name_keys("-") == keys.phone_keys("", "US") == []


def test_a_number_without_a_country_keeps_its_tails():
    assert keys.phone_keys("555 0123", "") == [("phone_tail", "5550123"), ("phone_tail", "0123")]


@given(st.text(max_size=300), st.sampled_from(["US", "GB", "DE", "ZZ", ""]))
def test_any_text_gives_short_unrepeated_keys(text, country):
    found = keys.query_keys(text, country)
    assert len(found) == len(set(found)) <= 20
    assert all(0 < len(key) <= keys.LONGEST for _, key in found)


@given(
    st.text("ABCDEFGHJKLMNPRSTUVWXYZ0123456789", min_size=17, max_size=17), st.sampled_from([" ", "-", ""])
)
def test_a_vin_is_found_however_it_is_written(vin, between):
    typed = between.join(vin.lower().translate(NOISE))
    assert keys.vin_keys(vin)[0] in keys.query_keys(typed, "US")
    assert keys.vin_keys(vin)[1] in keys.query_keys(typed[-6:] if not between else vin[-6:], "US")
