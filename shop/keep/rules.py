"""Which backups stay and when the next one is due. No Django: dates and texts only."""

import re
from collections.abc import Callable, Iterable
from datetime import datetime, timedelta, tzinfo
from typing import Final

PERIODS: Final[dict[str, Callable[[datetime], tuple[int, ...]]]] = {
    "hourly": lambda at: (at.year, at.month, at.day, at.hour),
    "daily": lambda at: (at.year, at.month, at.day),
    "weekly": lambda at: at.isocalendar()[:2],
    "monthly": lambda at: (at.year, at.month),
    "yearly": lambda at: (at.year,),
}
UNITS: Final = {"m": "minutes", "h": "hours", "d": "days", "w": "weeks"}
_RULE: Final = re.compile(r"\s*(\d{1,4})\s*(hourly|daily|weekly|monthly|yearly)\s*")
_SPAN: Final = re.compile(r"\s*(\d{1,5})\s*([mhdw])\s*")

Rules = dict[str, int]


def read_rules(text: str) -> Rules:
    """How many of each kind stay. ValueError with a sentence for anything else.

    >>> read_rules("7 daily, 4 weekly, 12 monthly")
    {'daily': 7, 'weekly': 4, 'monthly': 12}
    """
    rules: Rules = {}
    for part in text.split(","):
        found = _RULE.fullmatch(part)
        if not found or int(found[1]) == 0 or found[2] in rules:
            raise ValueError(f"“{part.strip()}” is no rule. Write it like: 7 daily, 4 weekly, 12 monthly.")
        rules[found[2]] = int(found[1])
    return rules


def read_span(text: str) -> timedelta:
    """A length of time as `30m`, `20h`, `1d`, `2w`; ValueError with a sentence for anything else.

    >>> read_span("20h")
    datetime.timedelta(seconds=72000)
    """
    found = _SPAN.fullmatch(text)
    if not found or int(found[1]) == 0:
        raise ValueError(f"“{text.strip()}” is no length of time. Write it like 30m, 20h, 1d or 2w.")
    return timedelta(**{UNITS[found[2]]: int(found[1])})


def staying(moments: Iterable[datetime], rules: Rules, zone: tzinfo) -> set[datetime]:
    """The moments that stay: of each period the last one, for as many periods as the rules say.

    Periods without a backup are not counted, so that a closed week in August costs no history. The newest
    always stays.

    >>> from datetime import UTC
    >>> days = [datetime(2026, 3, day, hour, tzinfo=UTC) for day in (1, 2, 5) for hour in (8, 20)]
    >>> sorted(at.day * 100 + at.hour for at in staying(days, {"daily": 2}, UTC))
    [220, 520]
    """
    newest_first = sorted(moments, reverse=True)
    kept = set(newest_first[:1])
    for name, count in rules.items():
        seen: set[tuple[int, ...]] = set()
        for moment in newest_first:
            period = PERIODS[name](moment.astimezone(zone))
            if period not in seen and len(seen) < count:
                seen.add(period)
                kept.add(moment)
    return kept


def age_in_words(age: timedelta) -> str:
    """
    >>> age_in_words(timedelta(minutes=1)), age_in_words(timedelta(hours=30)), age_in_words(timedelta(days=3))
    ('1 minute', '30 hours', '3 days')
    """
    minutes = max(0, int(age.total_seconds()) // 60)
    if minutes < 120:
        return _counted(minutes, "minute")
    hours = minutes // 60
    return _counted(hours, "hour") if hours < 72 else _counted(hours // 24, "day")


def _counted(count: int, unit: str) -> str:
    return f"{count} {unit}" if count == 1 else f"{count} {unit}s"
