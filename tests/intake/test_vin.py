import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shop.intake.vin import check_digit, clean, forgiving, problems
from shop.reasons import Weight

GOOD = "1M8GDM9AXKP042788"


def codes(vin):
    return [reason.code for reason in problems(vin)]


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        (GOOD.lower(), []),
        (" 1M8-GDM9A XKP–042788\n", []),
        ("1M8GDM9A\u00a0XKP\u2009042788", []),
        ("", ["vin_length"]),
        ("  - ", ["vin_length"]),
        (GOOD[:-1], ["vin_length"]),
        (GOOD + "8", ["vin_length"]),
        ("1M8GDM9AXKP04278O", ["vin_letters"]),
        ("IM8GDM9AXKP042788", ["vin_letters"]),
        ("1M8GDM9AXKP04278q", ["vin_letters"]),
        ("1M8GDM9AXKP04278*", ["vin_letters"]),
        ("1M8GDM9AXKPO4278", ["vin_length", "vin_letters"]),
        ("1M8GDM9AXKP04278８", ["vin_letters"]),
        ("1M8GDM9AXKP04278٨", ["vin_letters"]),
        ("ſM8GDM9AXKP042788", ["vin_letters"]),
        ("1M8GDM9AXKP04278\u200b", ["vin_letters"]),
        ("1M8GDM9AXKP04278\x00", ["vin_letters"]),
        ("ß" * 17, ["vin_letters"]),
        ("\ud800" * 17, ["vin_letters"]),
        ("1M8GDM9A1KP042788", ["vin_check_digit"]),
    ],
)
def test_problems(typed, expected):
    assert codes(typed) == expected


def test_length_and_letters_are_never_waivable():
    assert {reason.weight for reason in problems("IOQ")} == {Weight.STOP}


@pytest.mark.parametrize("first", "0123456789ABCDEFGHJKLMNPRSTUVWXYZ")
def test_the_check_digit_binds_only_where_the_first_character_is_1_to_5(first):
    vin = first + GOOD[1:]
    wrong = "1" if check_digit(vin) != "1" else "2"
    (reason,) = problems(vin[:8] + wrong + vin[9:])
    assert reason.weight is (Weight.WAIVABLE if first in "12345" else Weight.NOTE)


def test_a_huge_text_gives_a_short_answer():
    for reason in problems("O" * 2_000_000):
        assert len(reason.text) < 250


def test_the_place_is_named():
    (reason,) = problems("1M8GDM9AXKP04278O")
    assert "O in place 17" in reason.text


def test_look_up_forgives():
    assert forgiving("im8gdm9a-xkp O4278q") == "1M8GDM9AXKP042780"


@given(st.text(max_size=40))
def test_any_text_gets_reasons_not_errors(text):
    for reason in problems(text):
        assert reason.code in {"vin_length", "vin_letters", "vin_check_digit"}
        assert reason.text.endswith(".")


@given(st.text("ABCDEFGHJKLMNPRSTUVWXYZ0123456789", min_size=17, max_size=17))
def test_putting_in_the_asked_for_digit_makes_it_good(text):
    vin = text[:8] + check_digit(text) + text[9:]
    assert problems(vin) == []
    assert problems(vin.lower()) == []
    assert clean(vin) == vin


@given(st.text("ABCDEFGHJKLMNPRSTUVWXYZ0123456789", min_size=17, max_size=17), st.integers(0, 16))
def test_one_changed_digit_is_always_found(text, place):
    vin = text[:8] + check_digit(text) + text[9:]
    assume(place != 8 and vin[place].isdigit())
    other = str((int(vin[place]) + 1) % 10)
    assert check_digit(vin[:place] + other + vin[place + 1 :]) != vin[8]
