"""Care dates as calendar entries: each date an event of its own that lasts the day, never a rule that repeats.

A rule that repeats skips days that do not exist (RFC 5545 §3.3.10), so every date is worked out and written down.
The same paper gives the same entries, and an entry brought in twice takes its own place.
"""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from icalendar import Calendar, Event

MAKER = "-//Bayproof//Care dates//EN"
SHORT = 70


@dataclass(frozen=True)
class CareDate:
    """One day to remember. `key` tells it from the others of its paper and never changes."""

    key: str
    on: date
    title: str
    text: str


def care_calendar(
    dates: Iterable[CareDate], *, name: str, zone: str, made: datetime, paper: str, address: str
) -> bytes:
    """The calendar file. `paper` is the certificate's token, which no other paper has; `zone` the workshop's."""
    calendar = Calendar()
    calendar.add("prodid", MAKER)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", name)
    calendar.add("x-wr-timezone", zone)
    for one in dates:
        calendar.add_component(_event(one, made, paper, address))
    text: bytes = calendar.to_ical()
    return text


def entry_id(paper: str, key: str) -> str:
    """The same for the same date of the same paper, and nothing can be read off it."""
    return str(uuid.uuid5(uuid.NAMESPACE_URL, f"{paper}/{key}"))


def shortened(text: str) -> str:
    """A title of a calendar entry: the text up to its first full stop or colon, cut between words.

    >>> shortened("First wash: by hand, with plenty of water.")
    'First wash'
    >>> shortened("Recheck after a year.")
    'Recheck after a year'
    """
    first = min((part for part in (text.partition(": ")[0], text.partition(". ")[0])), key=len).rstrip(".")
    if len(first) <= SHORT:
        return first
    return f"{first[:SHORT].rpartition(' ')[0]} …"


def _event(one: CareDate, made: datetime, paper: str, address: str) -> Event:
    event = Event()
    event.add("uid", entry_id(paper, one.key))
    event.add("dtstamp", made)
    event.add("dtstart", one.on)
    # The end of a day-long event is the first day after it (RFC 5545 §3.6.1).
    event.add("dtend", one.on + timedelta(days=1))
    event.add("summary", one.title)
    event.add("description", one.text)
    event.add("location", address)
    event.add("transp", "TRANSPARENT")
    return event
