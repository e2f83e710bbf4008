"""Keys and figures of a document in words: every figure with the unit its name ends in."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Any, Final

from shop import units
from shop.documents.words import title

_MEASURES: Final = ("c100", "um10", "rh10", "mm", "s", "px")
_SPANS: Final = ("minutes", "hours", "days", "months", "years")
_CODE: Final = re.compile(r"[a-z]+(_[a-z]+)+")
_NAMES: Final = {
    "work_to": "To work by",
    "not_here": "Why something is not here",
    "stale": "Going stale",
    "limits": "Limits of air, panel and cut",
    "cure": "Cure times",
    "primer": "Primer times",
    "reading": "How long readings hold",
    "paint": "Paint gauge",
}


@dataclass(frozen=True)
class Reader:
    """Who reads: in which language, in which units."""

    language: str = "en"
    system: str = units.METRIC

    def say(self, text: Any) -> str:
        """A language map in this language, else in English, else in whatever there is."""
        if isinstance(text, Mapping):
            return str(text.get(self.language) or text.get("en") or next(iter(text.values()), ""))
        return str(text)

    def word(self, kind: type[StrEnum], code: str) -> str:
        return self.say(title(kind(code))) if code in set(kind) else human(code)


def human(code: str) -> str:
    """A key as words, without the unit it ends in.

    >>> human("question_below_um10"), human("valid_minutes"), human("work_to")
    ('Question below', 'Valid', 'To work by')
    """
    if code in _NAMES:
        return _NAMES[code]
    words = code.replace("-", "_").split("_")
    words = words[:-1] if len(words) > 1 and words[-1] in _MEASURES + _SPANS else words
    return " ".join(words).capitalize()


def figure(value: Any, unit: str, reader: Reader) -> str:
    """A value in words, with the unit its name carries.

    >>> figure(1800, "c100", Reader()), figure(90, "s", Reader()), figure(True, "", Reader())
    ('18 °C', '1.5 min', 'yes')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return _number(value, unit, reader)
    if isinstance(value, list):
        return ", ".join(figure(part, unit, reader) for part in value)
    if isinstance(value, str) and _CODE.fullmatch(value):
        return value.replace("_", " ")
    return reader.say(value)


def _number(value: int, unit: str, reader: Reader) -> str:
    if unit == "c100":
        return units.format_c100(value, reader.system)
    if unit == "difference":
        return units.format_difference_c100(value, reader.system)
    if unit == "um10":
        return units.format_um10(value, reader.system)
    if unit == "mm":
        return units.format_mm(value, reader.system)
    if unit == "rh10":
        return units.format_rh10(value)
    if unit == "s":
        return f"{value} s" if value < 60 else f"{units.decimal(Fraction(value, 60), 1)} min"
    return f"{value} {unit}".strip()


def unit_of(key: str) -> str:
    if key.endswith("margin_c100"):
        return "difference"
    last = key.rsplit("_", 1)[-1]
    return last if last in _MEASURES + _SPANS else ""
