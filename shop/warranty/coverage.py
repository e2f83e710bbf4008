"""The last covered day of a period of months or days.

Two ways of counting, chosen in the terms:
`event_day_excluded`: Regulation (EEC, Euratom) No 1182/71 Art. 3 and Dodds v Walker [1981] 1 WLR 1027: the
period ends on the day with the same number, or on the month's last day where that number is missing.
`first_day_counted`: BGB § 187(2), § 188(2) alt. 2 and (3): it ends the day before that number, or on the
month's last day where the number is missing.
The law's roll to the next working day is for acts to be done, so cover is not stretched by it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from dateutil.relativedelta import relativedelta

EVENT_DAY_EXCLUDED = "event_day_excluded"
FIRST_DAY_COUNTED = "first_day_counted"


def last_day(start: date, months: int, counting: str) -> date:
    """Last covered day of a period in months.

    The whole length is added once from the stored start; adding month by month drifts at month ends.
    ValueError for months below 1, an unknown counting, or an end after the year 9999.

    >>> last_day(date(2024, 2, 29), 12, "event_day_excluded")
    datetime.date(2025, 2, 28)
    >>> last_day(date(2024, 2, 29), 12, "first_day_counted")
    datetime.date(2025, 2, 28)
    >>> last_day(date(2023, 3, 1), 12, "first_day_counted")
    datetime.date(2024, 2, 29)
    """
    _whole(start, months, "months", counting)
    try:
        if counting == EVENT_DAY_EXCLUDED:
            return start + relativedelta(months=months)
        if start.day == 1:
            return start + relativedelta(months=months - 1, day=31)
        # "The number before, or the month's end" is one clipped day, so no day is lost twice.
        return start + relativedelta(months=months, day=start.day - 1)
    except (ValueError, OverflowError) as error:
        raise ValueError("The period ends after the year 9999.") from error


def days_last_day(start: date, days: int, counting: str) -> date:
    """Last covered day of a period in days; errors as for `last_day`.

    >>> days_last_day(date(2026, 5, 1), 30, "event_day_excluded")
    datetime.date(2026, 5, 31)
    >>> days_last_day(date(2026, 5, 1), 30, "first_day_counted")
    datetime.date(2026, 5, 30)
    """
    _whole(start, days, "days", counting)
    try:
        return start + timedelta(days=days if counting == EVENT_DAY_EXCLUDED else days - 1)
    except OverflowError as error:
        raise ValueError("The period ends after the year 9999.") from error


@dataclass(frozen=True)
class Span:
    """One promise on one panel: `kind` material, workmanship or touch_up, in months or in days."""

    kind: str
    months: int | None
    days: int | None
    counting: str
    first_day: date
    last_day: date


def spans(terms: Mapping[str, Any], first_day: date, *, flat: bool) -> list[Span]:
    """What the terms promise for a panel handed over on `first_day`, which is covered itself.

    `flat`: the panel lies flat and sees more sun; terms may give its film fewer months.
    """
    cover, counting = terms["cover"], terms["counting"]
    material = cover["material"]
    months = material.get("flat_months", material["months"]) if flat else material["months"]
    found = [
        Span(kind, length, None, counting, first_day, last_day(first_day, length, counting))
        for kind, length in (("material", months), ("workmanship", cover["workmanship"]["months"]))
    ]
    days = cover["touch_up"]["days"]
    return [
        *found,
        Span("touch_up", None, days, counting, first_day, days_last_day(first_day, days, counting)),
    ]


def is_covered(day: date, first_day: date, last_day: date) -> bool:
    """Both ends are covered, whichever way the length was counted."""
    return first_day <= day <= last_day


def _whole(start: date, length: int, unit: str, counting: str) -> None:
    if counting not in (EVENT_DAY_EXCLUDED, FIRST_DAY_COUNTED):
        raise ValueError(f"Counting is {EVENT_DAY_EXCLUDED} or {FIRST_DAY_COUNTED}, not {counting!r}.")
    if isinstance(start, datetime) or not isinstance(start, date):
        raise ValueError("Cover starts on a calendar day in the workshop's zone, not at an instant.")
    if isinstance(length, bool) or not isinstance(length, int) or length < 1:
        raise ValueError(f"A covered period is a whole number of {unit}, 1 or more.")
