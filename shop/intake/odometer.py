"""Reading an odometer as typed: whole kilometres, from kilometres or miles."""

import re

MM_A_MILE = 1_609_344  # exact, NIST Handbook 44 Appendix C
_TYPED = re.compile(r"(\d{1,3}(?:[ .,'’\u00a0\u202f]\d{3})+|\d{1,9})\s*(km|mi|mile|miles)?\.?", re.IGNORECASE)


def read_km(text: str, *, miles: bool) -> int:
    """Kilometres, rounded; `miles` is what a bare number means. ValueError with a sentence.

    >>> read_km("41 200", miles=False), read_km("25,600 mi", miles=False), read_km("1000", miles=True)
    (41200, 41199, 1609)
    """
    found = _TYPED.fullmatch(text.strip())
    if not found:
        raise ValueError("Write what the odometer shows, without tenths: for example 41200.")
    number = int(re.sub(r"\D", "", found[1]))
    unit = (found[2] or "").lower()
    if unit == "km" or not (unit or miles):
        return number
    return (number * MM_A_MILE + 500_000) // 1_000_000


def format_km(km: int, *, miles: bool) -> str:
    """As it is read: in the shop's own unit, kilometres behind miles.

    >>> format_km(41200, miles=False), format_km(41199, miles=True)
    ('41200 km', '25600 mi (41199 km)')
    """
    if not miles:
        return f"{km} km"
    return f"{(km * 1_000_000 + MM_A_MILE // 2) // MM_A_MILE} mi ({km} km)"
