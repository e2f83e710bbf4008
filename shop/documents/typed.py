"""Figures of a document as they are typed in a field, in whatever unit, and as they are shown there."""

import re
from typing import Final

from shop import units
from shop.documents.figures import Reader, figure

_SPAN: Final = re.compile(r"(\d{1,6}(?:[.,]\d{1,3})?)\s*([a-z]*)\.?")
_SECONDS: Final = {
    **dict.fromkeys(("s", "sec", "second", "seconds"), 1),
    **dict.fromkeys(("min", "minute", "minutes"), 60),
    **dict.fromkeys(("h", "hour", "hours"), 3600),
    **dict.fromkeys(("d", "day", "days"), 86_400),
}
_SPANS: Final = {"s": 1, "minutes": 60, "hours": 3600}


def shown(value: int | None, unit: str, system: str) -> str:
    """What stands in the field of a value: with its unit, in the shop's own system."""
    return "" if value is None else figure(value, unit, Reader(system=system))


def typed(text: str, unit: str, system: str) -> int:
    """The whole number meant. `unit` is the ending of the value's name; ValueError with a sentence.

    >>> typed("64.4 °F", "c100", "metric"), typed("5.4 °F", "difference", "us"), typed("1.5 h", "minutes", "metric")
    (1800, 300, 90)
    """
    if unit == "c100":
        return units.parse_c100(text, system)
    if unit == "difference":
        # Of a difference the zero of its scale is no part.
        scale = (
            "°F" if re.search(r"[fF]\s*$", text) or (system == units.US and not _names_unit(text)) else "°C"
        )
        return units.parse_c100(text, system) - units.parse_c100(f"0 {scale}")
    if unit == "um10":
        return units.parse_um10(text, system)
    if unit == "rh10":
        return units.parse_rh10(text)
    if unit == "mm":
        return units.parse_mm(text, system)
    return _span(text, unit)


def _names_unit(text: str) -> bool:
    return bool(re.search(r"[a-zA-Z]\s*$", text))


def _span(text: str, unit: str) -> int:
    found = _SPAN.fullmatch(text.strip().lower())
    word = found[2] if found else ""
    if not found or (word and word not in _SECONDS):
        raise ValueError("Write a time as a number and its unit: 90 s, 30 min or 24 h.")
    meant = _SECONDS[word] if word else _SPANS[unit]
    whole, _, part = found[1].replace(",", ".").partition(".")
    scale = 10 ** len(part)
    amount, left = divmod(int(whole + part) * meant, _SPANS[unit] * scale)
    if left:
        raise ValueError(f"This is kept in whole {'seconds' if unit == 's' else unit}.")
    return amount
