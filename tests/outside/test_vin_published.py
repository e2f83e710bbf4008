"""Published VINs and their check digits."""

import pytest

from shop.intake.vin import check_digit, problems

# (VIN, digit asked for at place 9, source)
GOOD = [
    ("1G4AH59H45G118341", "4", "49 CFR 565.6 Table V, the regulation's own sample"),
    ("1J9RP1A36A1644345", "6", "agency outline for new manufacturers, 49 CFR 565.15(c)(4)"),
    ("1M8GDM9AXKP042788", "X", "worked example in many public pages"),
    ("11111111111111111", "1", "published self-test: 89, the sum of the weights"),
    ("5GZCZ43D13S812715", "1", "public encyclopedia text"),
    ("LJCPCBLCX11000237", "X", "mathematics teaching page, Chinese maker code"),
    ("1HGCM82633A004352", "3", "open-source test suites"),
    ("1VWBH7A30DC104945", "0", "open-source test suites"),
    ("KM8K2CAB4PU001140", "4", "open-source test suites, Korean maker code built for the US"),
    # derived: 1 and J have the same value, so this slip cannot be seen
    ("JM8GDM9AXKP042788", "X", "derived"),
]
# (VIN, digit asked for, weight of the reason, source)
BAD = [
    ("SGZCZ43D13S812715", "X", "note", "claimed valid in a public text, refuted by 49 CFR 565.15(c)"),
    ("WP0ZZZ99ZTS392124", "8", "note", "a real European VIN in a photo caption"),
    ("KLATF08Y1VB363636", "4", "note", "a real VIN built for another market"),
    ("1HGCM82633A004353", "5", "waivable", "open-source test suites"),
    ("1VWBH7A31DC104945", "0", "waivable", "open-source test suites"),
    ("1M8GDM9A1KP042788", "X", "waivable", "derived"),
    ("1M8GDM9AXPK042788", None, "waivable", "derived: two letters swapped"),
    ("1M8GDM9AXKP042878", None, "waivable", "derived: two digits swapped"),
    ("LJCPCBLC111000237", "X", "note", "derived: informs outside 1–5"),
]


@pytest.mark.parametrize(("vin", "digit", "source"), GOOD)
def test_a_published_vin_is_good(vin, digit, source):
    assert check_digit(vin) == digit
    assert problems(vin) == []


@pytest.mark.parametrize(("vin", "digit", "weight", "source"), BAD)
def test_a_published_bad_check_digit_is_found(vin, digit, weight, source):
    assert [(reason.code, reason.weight.value) for reason in problems(vin)] == [("vin_check_digit", weight)]
    assert digit in (None, check_digit(vin))
    assert check_digit(vin) != vin[8]


# Transliteration and weights as printed in 49 CFR 565.15(c) Tables III and IV; every letter, every place.
TABLE = dict(zip("ABCDEFGHJKLMNPRSTUVWXYZ", "12345678123457923456789", strict=True))
WEIGHTS = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2]


@pytest.mark.parametrize(("letter", "value"), TABLE.items())
@pytest.mark.parametrize("place", range(17))
def test_each_letter_has_its_value_in_each_place(letter, value, place):
    vin = "0" * place + letter + "0" * (16 - place)
    wanted = int(value) * WEIGHTS[place] % 11
    assert check_digit(vin) == ("X" if wanted == 10 else str(wanted))
