"""Reading what somebody typed: tidied, bounded, and everything wrong with it said at once."""

import re
import unicodedata
from typing import Any

from shop.reasons import Reason, Refused, Weight

_UNSEEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
_JOINERS = {"\u200c", "\u200d"}  # part of correct spelling in several scripts


class Typed:
    """Reads fields one after the other and keeps the reasons; `stop` refuses with all of them.

    `where` is the field's place on the form (`#vin`), so that a reason can lead there.
    """

    def __init__(self) -> None:
        self.reasons: list[Reason] = []

    def line(self, value: Any, *, name: str, most: int, where: str = "", missing: str = "") -> str:
        """One line of text, blanks run together; `missing` is the sentence for an empty one, if it may not be."""
        return self._text(" ".join(_plain(value).split()), name, most, where, missing)

    def lines(self, value: Any, *, name: str, most: int, where: str = "", missing: str = "") -> str:
        """Text that may have several lines."""
        rows = [" ".join(row.split()) for row in _plain(value).splitlines()]
        return self._text("\n".join(rows).strip("\n"), name, most, where, missing)

    def number(self, value: Any, *, least: int, most: int, sentence: str, where: str = "") -> int | None:
        """A whole number or nothing; outside the bounds it is refused with the sentence."""
        if value is None or value == "":
            return None
        if type(value) is not int or not least <= value <= most:
            self.wrong(sentence, where)
            return None
        return value

    def one_of(self, value: Any, allowed: Any, *, sentence: str, where: str = "") -> str:
        if value not in allowed:
            self.wrong(sentence, where)
            return ""
        return str(value)

    def wrong(self, sentence: str, where: str = "", code: str = "value_wrong") -> None:
        self.reasons.append(Reason(code, sentence, where=where))

    def missing(self, sentence: str, where: str = "") -> None:
        self.wrong(sentence, where, "field_missing")

    def stop(self) -> None:
        """Refused with everything found, if anything found stops."""
        if any(reason.weight is not Weight.NOTE for reason in self.reasons):
            raise Refused([reason for reason in self.reasons if reason.weight is not Weight.NOTE])

    def _text(self, text: str, name: str, most: int, where: str, missing: str) -> str:
        if not text and missing:
            self.missing(missing, where)
        if len(text) > most:
            self.wrong(f"{name} is too long: {len(text)} characters, at most {most} fit.", where)
            return ""
        unseen = next((sign for sign in text if _unseen(sign)), "")
        if unseen:
            place = text.index(unseen) + 1
            self.wrong(f"{name} holds a sign that cannot be seen, in place {place}: type it again.", where)
            return ""
        return text


def _plain(value: Any) -> str:
    text = "" if value is None else str(value)
    text = re.sub(r"\r\n?|[\x0b\x0c\x85\u2028\u2029]", "\n", text)
    return unicodedata.normalize("NFC", text)


def _unseen(sign: str) -> bool:
    return sign != "\n" and sign not in _JOINERS and unicodedata.category(sign) in _UNSEEN
