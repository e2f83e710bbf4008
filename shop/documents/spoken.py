"""Differences between two versions as an owner reads them: names in words, figures with their unit."""

import re
from typing import Final

from shop.documents.figures import Reader, figure, human, unit_of

_CHANGED: Final = re.compile(r"was (-?\d+), now (-?\d+)\.")
_UNSAID: Final = ("en",)


def spoken(sentences: list[str], reader: Reader) -> list[tuple[str, str]]:
    """(what, how it changed) of each difference; that the version differs goes without saying.

    >>> spoken(["cure.bands “1800”.hours: was 24, now 36."], Reader())
    [('Cure times, bands “1800”, hours', 'was 24 hours, now 36 hours.')]
    """
    told = [_spoken(sentence, reader) for sentence in sentences if not sentence.startswith("version: ")]
    return [(what, how[:1].lower() + how[1:]) for what, how in told]


def _spoken(sentence: str, reader: Reader) -> tuple[str, str]:
    path, how = _parted(sentence)
    steps = _steps(path)
    unit = next((found for step in reversed(steps) if (found := unit_of(step))), "")
    if changed := _CHANGED.fullmatch(how):
        before, after = (figure(int(value), unit, reader) for value in changed.groups())
        how = f"was {before}, now {after}."
    words = [_word(step) for step in steps if step not in _UNSAID]
    said = ", ".join(words)
    return said[:1].upper() + said[1:], how


def _parted(sentence: str) -> tuple[str, str]:
    """Path and rest. A key between quotes may hold a colon of its own."""
    inside = False
    for n, sign in enumerate(sentence):
        inside = sign == "“" or (inside and sign != "”")
        if not inside and sentence.startswith(": ", n):
            return sentence[:n], sentence[n + 2 :]
    return "", sentence


def _steps(path: str) -> list[str]:
    steps, inside = [""], False
    for sign in path:
        inside = sign == "“" or (inside and sign != "”")
        if sign == "." and not inside:
            steps.append("")
        else:
            steps[-1] += sign
    return [step for step in steps if step]


def _word(step: str) -> str:
    """One step in words; an entry of a list keeps the key it goes by."""
    name, quote, entry = step.partition(" “")
    said = human(name).lower() if not name.startswith("“") else name
    return f"{said} “{entry}" if quote else said
