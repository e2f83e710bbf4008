"""What stands in the code of a roll label, and what a code on a supplier's label may be.

Our own labels hold lot and roll in the envelope of ISO/IEC 15434, format 06, with the data identifiers 1T (lot) and
S (serial number) of ANSI MH10.8.2, so that any reader of trade labels takes them apart. From memory, unverified.
"""

from dataclasses import dataclass
from typing import Final

HEAD: Final = "[)>\x1e06\x1d"
FIELD: Final = "\x1d"
TAIL: Final = "\x1e\x04"
LONGEST: Final = 40


@dataclass(frozen=True)
class OnLabel:
    """Lot and roll as a code says them; a bare code says neither, and somebody has to."""

    lot: str = ""
    roll: str = ""
    bare: str = ""


def payload(lot: str, roll: str) -> str:
    """
    >>> payload("L-2209", "R-1").encode()
    b'[)>\\x1e06\\x1d1TL-2209\\x1dSR-1\\x1e\\x04'
    """
    return f"{HEAD}1T{lot}{FIELD}S{roll}{TAIL}"


def read(text: str) -> OnLabel | None:
    """Lot and roll in a code; None where nothing in it can be one.

    >>> read(payload("L-2209", "R-1"))
    OnLabel(lot='L-2209', roll='R-1', bare='')
    >>> read(" R-1 ")
    OnLabel(lot='', roll='', bare='R-1')
    """
    if text.startswith(HEAD):
        return _enveloped(text.removeprefix(HEAD).removesuffix("\x04").removesuffix("\x1e"))
    plain = text.strip()
    if not 0 < len(plain) <= LONGEST or not plain.isprintable() or "://" in plain:
        return None
    return OnLabel(bare=plain)


def _enveloped(text: str) -> OnLabel | None:
    lot = roll = ""
    for field in text.split(FIELD):
        if field.startswith("1T"):
            lot = field[2:].strip()
        elif field.startswith("S"):
            roll = field[1:].strip()
    fit = all(len(code) <= LONGEST and code.isprintable() for code in (lot, roll))
    return OnLabel(lot, roll) if fit and (lot or roll) else None
