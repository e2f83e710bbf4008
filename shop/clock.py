"""The only place that asks what time it is; the demo, the rehearsal and the tests move it."""

from contextlib import contextmanager
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

_fixed: datetime | None = None


def now() -> datetime:
    return _fixed if _fixed is not None else datetime.now(UTC)


def today(zone: str) -> date:
    """The day it is now in that zone."""
    return now().astimezone(ZoneInfo(zone)).date()


def set_to(moment: datetime | None) -> None:
    """Hold the clock at an aware moment, or let it run again with None."""
    global _fixed  # noqa: PLW0603 - one clock a process is the whole point
    if moment is not None and moment.tzinfo is None:
        raise ValueError("The clock takes a moment with its offset.")
    _fixed = moment.astimezone(UTC) if moment else None


@contextmanager
def held_at(moment: datetime):
    before = _fixed
    set_to(moment)
    try:
        yield
    finally:
        set_to(before)
