"""Which column of a brought-in table holds what, and how a day may be written in it."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final


@dataclass(frozen=True)
class Column:
    """`names` are headings it goes by, in plain form; `needed`: without it no row can be read."""

    title: str
    names: tuple[str, ...]
    needed: bool = False


COLUMNS: Final[Mapping[str, Column]] = {
    "number": Column("Certificate number", ("number", "certificate", "certificatenumber", "paper", "no"), True),
    "vin": Column("VIN", ("vin", "vehicleidentificationnumber", "fin")),
    "chassis": Column("Chassis number", ("chassis", "chassisnumber", "frame", "framenumber")),
    "model": Column("Model", ("model", "car", "vehicle"), True),
    "colour": Column("Paint colour", ("colour", "color", "paint", "paintcolour", "paintcolor"), True),
    "plate": Column("Plate", ("plate", "licenceplate", "licenseplate", "registration", "reg")),
    "body": Column("Body", ("body", "bodystyle", "shape")),
    "panels": Column("Panels", ("panels", "panel", "covered", "parts"), True),
    "film": Column("Film", ("film", "material", "filmcolour", "filmcolor", "product")),
    "first_day": Column("First day", ("firstday", "from", "start", "startdate", "installed", "handedover"), True),
    "last_day": Column("Last day of the film", ("lastday", "until", "end", "enddate", "expires", "expiry"), True),
    "work_last_day": Column(
        "Last day of our work", ("worklastday", "workuntil", "workmanshipuntil", "lastdayofourwork")
    ),
    "name": Column("Owner's name", ("name", "owner", "ownersname", "customer", "customername")),
    "phone": Column("Owner's phone", ("phone", "telephone", "mobile", "tel", "ownersphone")),
    "mail": Column("Owner's mail", ("mail", "email", "ownersmail", "mailaddress")),
}  # fmt: skip
DAY_FIRST, MONTH_FIRST = "dmy", "mdy"
DAYS: Final = {
    DAY_FIRST: "day first: 3/5/2026 is the 3rd of May",
    MONTH_FIRST: "month first: 3/5/2026 is March 5",
}
EARLIEST: Final = date(1980, 1, 1)
_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[ T]0{1,2}:00(?::00)?)?", re.ASCII)
_WRITTEN = re.compile(r"(\d{1,2})([-/. ])(\d{1,2})\2(\d{4})(?: 0{1,2}:00(?::00)?)?", re.ASCII)


def plain(heading: str) -> str:
    """
    >>> plain(" Certificate-No. ")
    'certificateno'
    """
    folded = unicodedata.normalize("NFKD", heading.casefold())
    return "".join(sign for sign in folded if sign.isalnum())


def matched(headings: Sequence[str]) -> dict[str, str]:
    """Fields by the heading they go by; each heading once, in the order of the fields.

    >>> matched(["No", "VIN", "Until", "Remarks"])
    {'number': 'No', 'vin': 'VIN', 'last_day': 'Until'}
    """
    found: dict[str, str] = {}
    for field, column in COLUMNS.items():
        known = {*column.names, plain(column.title), plain(field)}
        for heading in headings:
            if plain(heading) in known and heading not in found.values():
                found[field] = heading
                break
    return found


def lacking(columns: Mapping[str, str]) -> list[str]:
    """What cannot be done without, as sentences."""
    found = [
        f"No column is the {column.title.lower()}: say which one it is."
        for field, column in COLUMNS.items()
        if column.needed and field not in columns
    ]
    if "vin" not in columns and "chassis" not in columns:
        found.insert(0, "No column is the VIN, and none is a chassis number: say which one it is.")
    return found


def read_day(text: str, order: str) -> date:
    """A day with its year in full. ValueError with a sentence; a day that no calendar has is one.

    >>> read_day("2024-02-29", "dmy"), read_day("3/5/2026", "mdy"), read_day("03.05.2026", "mdy")
    (datetime.date(2024, 2, 29), datetime.date(2026, 3, 5), datetime.date(2026, 5, 3))
    """
    iso, written = _ISO.fullmatch(text), _WRITTEN.fullmatch(text)
    if iso:
        parts = iso[1], iso[2], iso[3]
    elif written:
        month_first = order == MONTH_FIRST and written[2] != "."
        month, day = (written[1], written[3]) if month_first else (written[3], written[1])
        parts = written[4], month, day
    else:
        raise ValueError(f"“{text[:30]}” is no day: write it as 2026-05-31, with the whole year.")
    try:
        found = date(*map(int, parts))
    except ValueError:
        raise ValueError(f"“{text[:30]}” is a day that no calendar has.") from None
    if found < EARLIEST:
        raise ValueError(f"“{text[:30]}” is too long ago: look at the year.")
    return found
