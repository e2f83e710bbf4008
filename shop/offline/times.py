"""When a press happened, told by a tablet whose clock may be wrong, from how long ago it says it was.

The tablet's clock is never believed as such: only the difference between two of its readings is, the one at the
press and the one at sending. What stays of a fault is the time one message takes to arrive.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

SLACK: Final = timedelta(seconds=60)
"""How far two contacts may disagree before the clock counts as moved: a slow message and ordinary drift."""
OLDEST: Final = timedelta(days=30)
"""A press longer ago than this is kept, but nobody can say any more that the clock ran on all the while."""
_FARTHEST: Final = timedelta(days=3650)


@dataclass(frozen=True)
class Press:
    """`sure` is False where the tablet's clock jumped between press and sending, or may have."""

    happened_at: datetime
    sure: bool


def press(
    *,
    received_at: datetime,
    tablet_now_ms: int,
    at_ms: int,
    previous: datetime | None,
    behind_before_ms: int | None,
    steady: bool = False,
) -> Press:
    """The moment of a press, between that tablet's previous entry and the receipt.

    `at_ms` and `tablet_now_ms` are readings of the tablet's clock at the press and at sending; `previous` is the
    moment of the entry before; `behind_before_ms` is how far the clock was behind ours at the contact before
    (`behind`), None at the first. `steady`: the page that was pressed also sends, and by its stopwatch, which no
    setting of the clock moves, the same time went by; what the clock did before the press is no matter then.
    """
    age = timedelta(milliseconds=max(-_ms(_FARTHEST), min(tablet_now_ms - at_ms, _ms(_FARTHEST))))
    moved = (
        not steady
        and behind_before_ms is not None
        and abs(behind(received_at, tablet_now_ms) - behind_before_ms) > _ms(SLACK)
    )
    moment = received_at - age
    sure = not moved and timedelta(0) - SLACK <= age <= OLDEST
    floor = received_at if previous is None else min(previous, received_at)
    if previous is not None and moment < floor:
        sure = sure and floor - moment <= SLACK
        moment = floor
    return Press(min(moment, received_at), sure)


def behind(received_at: datetime, tablet_now_ms: int) -> int:
    """By how many milliseconds the tablet's clock is behind ours, the way of the message included."""
    return round(received_at.timestamp() * 1000) - tablet_now_ms


def _ms(span: timedelta) -> int:
    return span // timedelta(milliseconds=1)
