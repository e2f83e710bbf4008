"""Exact conversions, reading what a person types, and writing it back in metric, in US units or in both.

Stored units are integers: 0.01 °C (`_c100`), 0.1 % RH (`_rh10`), 0.1 µm (`_um10`), mm, mm², 0.1 ml (`_ml10`), kPa.
Factors are exact by definition: NIST SP 811 Appendix B and NIST Handbook 44 Appendix C.
"""

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

METRIC: Final = "metric"
US: Final = "us"

_INCH_MM = Fraction("25.4")
_US_GALLON_ML10 = Fraction("37854.11784")
_IMPERIAL_GALLON_ML10 = Fraction("45460.9")
# lb × standard gravity over a square inch, in kPa
_PSI_KPA = Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2 / 1000


@dataclass(frozen=True)
class _Kind:
    """What can be typed for one quantity: factors to the stored unit, and the unit meant when none is typed."""

    name: str
    factors: dict[str, Fraction]
    meant: dict[str, str]
    most: int
    example: str


def _factors(*groups: tuple[str, Fraction]) -> dict[str, Fraction]:
    return {word: factor for words, factor in groups for word in words.split("|")}


_THICKNESS = _Kind(
    "thickness",
    _factors(
        ("µm|um|micron|microns", Fraction(10)), ("mil|mils|thou", Fraction(254)), ("mm", Fraction(10_000))
    ),
    {METRIC: "µm", US: "mil"},
    100_000,
    "165 µm or 6.5 mil",
)
_LENGTH = _Kind(
    "length",
    _factors(("mm", Fraction(1)), ("cm", Fraction(10)), ("m", Fraction(1000)))
    | _factors(
        ('in|inch|inches|"', _INCH_MM), ("ft|foot|feet|'", 12 * _INCH_MM), ("yd|yard|yards", 36 * _INCH_MM)
    ),
    {METRIC: "mm", US: "in"},
    10_000_000,
    "60 mm, 1.5 m or 2 1/2 in",
)
_VOLUME = _Kind(
    "volume",
    _factors(("ml", Fraction(10)), ("cl", Fraction(100)), ("l|liter|litre|liters|litres", Fraction(10_000)))
    | _factors(("us gal|us gallon|us gallons", _US_GALLON_ML10), ("us fl oz|us floz", _US_GALLON_ML10 / 128))
    | _factors(("imp gal|imperial gallon|imperial gallons", _IMPERIAL_GALLON_ML10))
    | _factors(("imp fl oz|imperial fl oz", _IMPERIAL_GALLON_ML10 / 160)),
    {METRIC: "ml", US: "us fl oz"},
    10_000_000,
    "500 ml, 1 l or 16 US fl oz",
)
_PRESSURE = _Kind(
    "pressure",
    _factors(("kpa", Fraction(1)), ("bar", Fraction(100)), ("psi", _PSI_KPA)),
    {METRIC: "kpa", US: "psi"},
    100_000,
    "280 kPa, 2.8 bar or 40 psi",
)
_GALLON_WORDS = {"gal", "gallon", "gallons", "fl oz", "floz", "oz"}


def half_up(value: Fraction) -> int:
    """Nearest whole number, halves away from zero, as people round on paper.

    >>> half_up(Fraction(5, 2)), half_up(Fraction(-5, 2))
    (3, -3)
    """
    size = (2 * abs(value) + 1) // 2
    return int(size if value >= 0 else -size)


def fahrenheit(c100: int) -> Fraction:
    """°F, exact.

    >>> fahrenheit(-4000) == -40
    True
    """
    return Fraction(c100, 100) * Fraction(9, 5) + 32


def c100_from_fahrenheit(degrees: Fraction) -> int:
    """0.01 °C, rounded.

    >>> c100_from_fahrenheit(Fraction(70))
    2111
    """
    return half_up((degrees - 32) * Fraction(5, 9) * 100)


def difference_fahrenheit(c100: int) -> Fraction:
    """A difference of temperatures in °F: without the 32."""
    return Fraction(c100, 100) * Fraction(9, 5)


def mil(um10: int) -> Fraction:
    """Thousandths of an inch: 1 mil = 25.4 µm."""
    return Fraction(um10, 254)


def inches(mm: int) -> Fraction:
    return mm / _INCH_MM


def square_feet(mm2: int) -> Fraction:
    return mm2 / (12 * _INCH_MM) ** 2


def us_gallons(ml10: int) -> Fraction:
    return ml10 / _US_GALLON_ML10


def us_fluid_ounces(ml10: int) -> Fraction:
    return 128 * us_gallons(ml10)


def imperial_gallons(ml10: int) -> Fraction:
    return ml10 / _IMPERIAL_GALLON_ML10


def imperial_fluid_ounces(ml10: int) -> Fraction:
    return 160 * imperial_gallons(ml10)


def psi(kpa: int) -> Fraction:
    return kpa / _PSI_KPA


def parse_c100(text: str, system: str = METRIC) -> int:
    """Temperature as typed to 0.01 °C; without a unit the shop's own is meant.

    >>> parse_c100("21,4"), parse_c100("70 °F"), parse_c100("70", "us")
    (2140, 2111, 2111)
    """
    number, unit = _split(text, "temperature", "21.4 °C or 70 °F")
    unit = re.sub(r"^(°|degrees?|deg)\s*", "", unit)
    unit = {"c": "c", "celsius": "c", "f": "f", "fahrenheit": "f", "": "f" if system == US else "c"}.get(
        unit, "?"
    )
    if unit == "?":
        raise ValueError("A temperature is in °C or °F: for example 21.4 °C or 70 °F.")
    value = half_up(number * 100) if unit == "c" else c100_from_fahrenheit(number)
    return _within(
        value, -6000, 20_000, "No bay, panel or heat gun is that cold or hot: look at the meter again."
    )


def parse_rh10(text: str) -> int:
    """Relative humidity as typed to 0.1 %.

    >>> parse_rh10("45,5 %"), parse_rh10("45")
    (455, 450)
    """
    number, unit = _split(text, "humidity", "45 %")
    if unit not in ("", "%", "%rh", "% rh", "rh", "percent"):
        raise ValueError("Humidity is in percent: for example 45 %.")
    return _within(
        half_up(number * 10), 1, 1000, "Relative humidity lies between 0 and 100 %: look at the meter again."
    )


def parse_um10(text: str, system: str = METRIC) -> int:
    """Thickness as typed to 0.1 µm.

    >>> parse_um10("165 µm"), parse_um10("6.5 mil"), parse_um10("6.5", "us")
    (1650, 1651, 1651)
    """
    return _parse(text, _THICKNESS, system)


def parse_mm(text: str, system: str = METRIC) -> int:
    """Length as typed to whole millimetres.

    >>> parse_mm("1,2 m"), parse_mm("½ in"), parse_mm('2 1/2"')
    (1200, 13, 64)
    """
    return _parse(text, _LENGTH, system)


def parse_ml10(text: str, system: str = METRIC) -> int:
    """Volume as typed to 0.1 ml.

    A bare gallon or fluid ounce is taken only in a shop on US units: the two gallons differ by a fifth.

    >>> parse_ml10("1 US gal"), parse_ml10("1 imp gal")
    (37854, 45461)
    """
    return _parse(text, _VOLUME, system)


def parse_kpa(text: str, system: str = METRIC) -> int:
    """Pressure as typed to whole kPa.

    >>> parse_kpa("2.8 bar"), parse_kpa("40 psi")
    (280, 276)
    """
    return _parse(text, _PRESSURE, system)


def _parse(text: str, kind: _Kind, system: str) -> int:
    number, unit = _split(text, kind.name, kind.example)
    unit = unit or kind.meant[US if system == US else METRIC]
    if kind is _VOLUME and unit in _GALLON_WORDS:
        if system != US:
            raise ValueError(
                "Say which: US gal or imp gal, US fl oz or imp fl oz. They differ by up to a fifth."
            )
        unit = "us gal" if unit.startswith("gal") else "us fl oz"
    if unit not in kind.factors:
        raise ValueError(f"“{unit[:20]}” is no unit of {kind.name} here: write for example {kind.example}.")
    value = half_up(number * kind.factors[unit])
    return _within(value, 0, kind.most, f"That {kind.name} cannot be right: compare number and unit.")


def _within(value: int, least: int, most: int, sentence: str) -> int:
    if not least <= value <= most:
        raise ValueError(sentence)
    return value


_NUMBER = re.compile(
    r"""(?P<sign>[-+]?)\s*
    (?: (?:(?P<whole>[0-9]{1,9})[\s-]+)? (?P<top>[0-9]{1,4})/(?P<bottom>[0-9]{1,4})
      | (?P<plain>[0-9]{1,9}(?:[.,][0-9]{0,9})?|[.,][0-9]{1,9}) )
    \s*(?P<unit>[^0-9\s].*)?""",
    re.VERBOSE,
)


def _split(text: str, name: str, example: str) -> tuple[Fraction, str]:
    """Number and lower-case unit, "" where none was typed."""
    say = f"Write the {name} as a number and its unit: for example {example}."
    found = _NUMBER.fullmatch(_plain(text)) if len(text) <= 60 else None
    if not found or (found["bottom"] and int(found["bottom"]) == 0):
        raise ValueError(say)
    if found["bottom"]:
        number = int(found["whole"] or 0) + Fraction(int(found["top"]), int(found["bottom"]))
    elif re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", found["plain"]):
        raise ValueError("That comma can mean two things: write the number with a point, or without a comma.")
    else:
        number = Fraction(found["plain"].replace(",", "."))
    unit = " ".join((found["unit"] or "").lower().replace(".", "").split())
    return (-number if found["sign"] == "-" else number), unit


_MARKS = {ord(odd): plain for odd, plain in zip("º″”′’", "°\"\"''", strict=True)}
_SIGNS = {ord(odd): plain for odd, plain in zip("−–⁄μ", "--/µ", strict=True)}


def _plain(text: str) -> str:
    """One way of writing each sign: fractions as 1/2, one degree, one minus, one inch mark, one micro."""
    spelled = "".join(
        f" {sign}" if unicodedata.decomposition(sign).startswith("<fraction>") else sign for sign in text
    )
    # Compatibility folding splits an inch mark and takes the degree for a letter, so those go first.
    return unicodedata.normalize("NFKC", spelled.translate(_MARKS)).translate(_SIGNS).strip()


def decimal(value: Fraction, places: int) -> str:
    """Rounded half up, without trailing noughts.

    >>> decimal(Fraction(1, 8), 2), decimal(Fraction(21), 1), decimal(Fraction(-1, 100), 1)
    ('0.13', '21', '0')
    """
    scaled = half_up(value * 10**places)
    whole, part = divmod(abs(scaled), 10**places)
    text = f"{whole}.{part:0{places}}".rstrip("0").rstrip(".") if places else str(whole)
    return f"-{text}" if scaled < 0 else text


def _written(metric: str, us: str, system: str, both: bool) -> str:
    if system != US:
        return metric
    return f"{us} ({metric})" if both else us


def format_c100(c100: int, system: str = METRIC, *, both: bool = False) -> str:
    """`both` is for paper of a shop on US units: US first, metric behind it.

    >>> format_c100(2140), format_c100(2140, "us"), format_c100(2140, "us", both=True)
    ('21.4 °C', '70.5 °F', '70.5 °F (21.4 °C)')
    """
    return _written(
        f"{decimal(Fraction(c100, 100), 1)} °C", f"{decimal(fahrenheit(c100), 1)} °F", system, both
    )


def format_difference_c100(c100: int, system: str = METRIC, *, both: bool = False) -> str:
    """A margin between two temperatures.

    >>> format_difference_c100(300), format_difference_c100(300, "us")
    ('3 °C', '5.4 °F')
    """
    us = f"{decimal(difference_fahrenheit(c100), 1)} °F"
    return _written(f"{decimal(Fraction(c100, 100), 1)} °C", us, system, both)


def format_rh10(rh10: int) -> str:
    return f"{decimal(Fraction(rh10, 10), 1)} %"


def format_um10(um10: int, system: str = METRIC, *, both: bool = False) -> str:
    return _written(f"{decimal(Fraction(um10, 10), 1)} µm", f"{decimal(mil(um10), 1)} mil", system, both)


def format_mm(mm: int, system: str = METRIC, *, both: bool = False) -> str:
    """From 10 ft on, feet: nobody reads a roll in inches.

    >>> format_mm(60, "us"), format_mm(15240, "us"), format_mm(15240)
    ('2.36 in', '50 ft', '15240 mm')
    """
    us = f"{decimal(inches(mm), 2)} in" if inches(mm) < 120 else f"{decimal(inches(mm) / 12, 1)} ft"
    return _written(f"{mm} mm", us, system, both)


def format_mm2(mm2: int, system: str = METRIC, *, both: bool = False) -> str:
    us = f"{decimal(square_feet(mm2), 1)} ft²"
    return _written(f"{decimal(Fraction(mm2, 1_000_000), 2)} m²", us, system, both)


def format_ml10(ml10: int, system: str = METRIC, *, both: bool = False) -> str:
    """
    >>> format_ml10(5000), format_ml10(15000), format_ml10(5000, "us"), format_ml10(75708, "us")
    ('500 ml', '1.5 l', '16.9 US fl oz', '2 US gal')
    """
    metric = (
        f"{decimal(Fraction(ml10, 10), 1)} ml" if ml10 < 10_000 else f"{decimal(Fraction(ml10, 10_000), 2)} l"
    )
    gallons = us_gallons(ml10)
    us = f"{decimal(gallons, 2)} US gal" if gallons >= 1 else f"{decimal(128 * gallons, 1)} US fl oz"
    return _written(metric, us, system, both)


def format_kpa(kpa: int, system: str = METRIC, *, both: bool = False) -> str:
    return _written(f"{kpa} kPa", f"{decimal(psi(kpa), 0)} psi", system, both)
