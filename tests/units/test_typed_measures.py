from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop import units


@pytest.mark.parametrize(
    ("text", "system", "c100"),
    [
        ("21,4", "metric", 2140),
        ("21.4 °C", "metric", 2140),
        ("21.4C", "us", 2140),
        ("70 °F", "metric", 2111),
        ("70", "us", 2111),
        ("70", "metric", 7000),
        ("−5", "metric", -500),
        ("- 5 ºC", "metric", -500),
        ("+5 deg C", "metric", 500),
        ("21.4 ℃", "us", 2140),
        ("70℉", "metric", 2111),
        ("70 degrees fahrenheit", "metric", 2111),
        ("21.", "metric", 2100),
        (",5", "metric", 50),
        ("０", "metric", 0),
        ("18.005", "metric", 1801),
        ("68 1/2 F", "metric", 2028),
    ],
)
def test_temperatures(text, system, c100):
    assert units.parse_c100(text, system) == c100


@pytest.mark.parametrize(
    ("text", "system", "um10"),
    [
        ("165 µm", "us", 1650),
        ("165 μm", "us", 1650),
        ("165um", "us", 1650),
        ("165", "metric", 1650),
        ("6.5 mil", "metric", 1651),
        ("6,5 mils", "metric", 1651),
        ("6.5", "us", 1651),
        ("6½ thou", "metric", 1651),
        ("0.165 mm", "us", 1650),
        ("0,165 mm", "us", 1650),
        ("165 MICRONS", "us", 1650),
    ],
)
def test_thicknesses(text, system, um10):
    assert units.parse_um10(text, system) == um10


@pytest.mark.parametrize(
    ("text", "system", "mm"),
    [
        ("60", "metric", 60),
        ("60", "us", 1524),
        ("6 cm", "us", 60),
        ("1,52 m", "us", 1520),
        ("½ in", "metric", 13),
        ("2½″", "metric", 64),
        ("2 1/2 in.", "metric", 64),
        ("2-1/2 inches", "metric", 64),
        ("5'", "metric", 1524),
        ("50 ft", "metric", 15_240),
        ("1/4 in", "metric", 6),
    ],
)
def test_lengths(text, system, mm):
    assert units.parse_mm(text, system) == mm


def test_humidity_volume_and_pressure():
    assert [units.parse_rh10(text) for text in ("45", "45,5 %", "45 %RH", "100%", "0.1")] == [
        450,
        455,
        450,
        1000,
        1,
    ]
    assert [units.parse_ml10(text) for text in ("500 ml", "0,5 l", "50 cl", "500")] == [5000] * 4
    assert units.parse_ml10("16 fl. oz.", "us") == units.parse_ml10("16", "us") == 4732
    assert units.parse_ml10("1 gal", "us") == 37_854
    assert [units.parse_kpa(text) for text in ("280", "2.8 bar", "280 kPa")] == [280] * 3
    assert units.parse_kpa("40", "us") == 276


READERS = [
    units.parse_c100,
    units.parse_rh10,
    units.parse_um10,
    units.parse_mm,
    units.parse_ml10,
    units.parse_kpa,
]


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "warm",
        "12 parsec",
        "1,5,5",
        "1.234,5",
        "--5",
        "1e5",
        "nan",
        "inf",
        "5 5",
        "1/0",
        "1 1/0 in",
        "٣",
        "9" * 12,
        "9" * 5000,
        "5 " + "x" * 5000,
        "5\x00",
        "\ud800",
    ],
)
def test_what_cannot_be_read_is_refused_with_a_sentence(reader, text):
    with pytest.raises(ValueError, match=r"^[A-Z“].{10,}\.$"):
        reader(text)


@pytest.mark.parametrize(
    ("reader", "text", "says"),
    [
        (units.parse_mm, "1,234 mm", "two things"),
        (units.parse_c100, "500", "cold or hot"),
        (units.parse_c100, "-70", "cold or hot"),
        (units.parse_c100, "20 K", "°C or °F"),
        (units.parse_rh10, "0", "between 0 and 100"),
        (units.parse_rh10, "100.1", "between 0 and 100"),
        (units.parse_rh10, "-5", "between 0 and 100"),
        (units.parse_um10, "165 in", "no unit of thickness"),
        (units.parse_um10, "-1 µm", "cannot be right"),
        (units.parse_ml10, "1 gal", "US gal or imp gal"),
        (units.parse_ml10, "16 fl oz", "US fl oz or imp fl oz"),
        (units.parse_kpa, "40 mil", "no unit of pressure"),
    ],
)
def test_the_sentence_says_what_to_do(reader, text, says):
    with pytest.raises(ValueError, match=says):
        reader(text)


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        (units.format_c100(2140), "21.4 °C"),
        (units.format_c100(2100), "21 °C"),
        (units.format_c100(-55), "-0.6 °C"),
        (units.format_c100(-4), "0 °C"),
        (units.format_c100(2140, "us"), "70.5 °F"),
        (units.format_c100(2140, "us", both=True), "70.5 °F (21.4 °C)"),
        (units.format_c100(2140, "metric", both=True), "21.4 °C"),
        (units.format_rh10(455), "45.5 %"),
        (units.format_um10(1650), "165 µm"),
        (units.format_um10(1650, "us", both=True), "6.5 mil (165 µm)"),
        (units.format_mm(6, "us", both=True), "0.24 in (6 mm)"),
        (units.format_mm(15_240, "us"), "50 ft"),
        (units.format_mm2(1_250_000), "1.25 m²"),
        (units.format_mm2(1_250_000, "us", both=True), "13.5 ft² (1.25 m²)"),
        (units.format_ml10(5000, "us", both=True), "16.9 US fl oz (500 ml)"),
        (units.format_kpa(276, "us", both=True), "40 psi (276 kPa)"),
    ],
)
def test_measures_written_back(written, expected):
    assert written == expected


@pytest.mark.parametrize("reader", READERS)
@given(text=st.text(max_size=80))
def test_any_text_gives_a_number_or_a_sentence(reader, text):
    try:
        assert isinstance(reader(text), int)
    except ValueError as refused:
        assert str(refused).endswith(".")


@given(st.integers(-5000, 19_000), st.sampled_from(["metric", "us"]))
def test_a_temperature_read_back_is_the_same_to_a_tenth(c100, system):
    back = units.parse_c100(units.format_c100(c100, system))
    assert abs(back - c100) <= 5


@given(st.fractions())
def test_rounding_is_never_more_than_a_half_away(value):
    assert abs(units.half_up(value) - value) <= Fraction(1, 2)
    assert units.half_up(-value) == -units.half_up(value)
