"""When a press happened: one row a case, all against a receipt at nine o'clock."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.offline.times import behind, press

NINE = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
S = 1000
MIN = 60 * S
H = 60 * MIN
DAY = 24 * H
NOW = round(NINE.timestamp() * 1000)

# what it is: (tablet's clock at sending, at the press, minutes before nine of the entry before or None,
#              how far the clock was behind at the contact before or None) -> (seconds before nine, sure)
CASES = {
    "just now": (NOW, NOW, None, None, 0, True),
    "ten minutes ago": (NOW, NOW - 10 * MIN, None, None, 600, True),
    "a clock three hours ahead all along": (NOW + 3 * H, NOW + 3 * H - 10 * MIN, 30, -3 * H, 600, True),
    "a clock of 1970 all along": (5 * H, 5 * H - 10 * MIN, 30, NOW - 5 * H, 600, True),
    "the first contact of a clock that is wrong": (NOW - 2 * DAY, NOW - 2 * DAY - MIN, None, None, 60, True),
    "a message that was a few seconds on its way": (NOW - 8 * S, NOW - 68 * S, 30, 0, 60, True),
    "before the entry before, by a slow message": (NOW, NOW - 10 * MIN - 3 * S, 10, 0, 600, True),
    "before the entry before, by more": (NOW, NOW - 20 * MIN, 10, 0, 600, False),
    "set back in between": (NOW - H, NOW - 10 * MIN, 30, 0, 0, False),
    "set ahead in between": (NOW + H, NOW - 10 * MIN, 120, 0, 70 * 60, False),
    "set ahead in between, past the entry before": (NOW + 3 * H, NOW - 10 * MIN, 120, 0, 120 * 60, False),
    "set right in between": (NOW, NOW + 3 * H - 10 * MIN, 30, -3 * H, 0, False),
    "in the future of its own clock": (NOW, NOW + 10 * MIN, 30, 0, 0, False),
    "a second in the future of its own clock": (NOW, NOW + S, 30, 0, 0, True),
    "thirty days ago": (NOW, NOW - 30 * DAY, None, 0, 30 * 86400, True),
    "longer ago": (NOW, NOW - 31 * DAY, None, 0, 31 * 86400, False),
    "longer ago than there are clocks": (2**53 - 1, 0, 60, 0, 3600, False),
    "an entry before that lies ahead of us": (NOW, NOW - MIN, -5, 0, 0, True),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_when_it_happened(name):
    tablet_now, at, before, was_behind, seconds, sure = CASES[name]
    found = press(
        received_at=NINE,
        tablet_now_ms=tablet_now,
        at_ms=at,
        previous=None if before is None else NINE - timedelta(minutes=before),
        behind_before_ms=was_behind,
    )
    assert (NINE - found.happened_at, found.sure) == (timedelta(seconds=seconds), sure)


@pytest.mark.parametrize(
    ("name", "seconds", "sure"),
    [
        ("set back in between", 0, False),  # it says itself that the press is to come
        ("set ahead in between", 4200, True),
        ("set right in between", 0, False),
        ("longer ago", 31 * 86400, False),
        ("before the entry before, by more", 600, False),
        ("just now", 0, True),
    ],
)
def test_a_stopwatch_that_ran_along_clears_what_the_clock_did_before(name, seconds, sure):
    tablet_now, at, before, was_behind, _, _ = CASES[name]
    found = press(
        received_at=NINE,
        tablet_now_ms=tablet_now,
        at_ms=at,
        previous=None if before is None else NINE - timedelta(minutes=before),
        behind_before_ms=was_behind,
        steady=True,
    )
    assert (NINE - found.happened_at, found.sure) == (timedelta(seconds=seconds), sure)


ms = st.integers(0, 2**53 - 1)


@given(ms, ms, st.none() | st.timedeltas(timedelta(days=-1), timedelta(days=900)), st.none() | ms)
def test_it_lies_between_the_entry_before_and_the_receipt(tablet_now, at, before, was_behind):
    previous = None if before is None else NINE - before
    found = press(
        received_at=NINE, tablet_now_ms=tablet_now, at_ms=at, previous=previous, behind_before_ms=was_behind
    )
    assert found.happened_at <= NINE
    assert previous is None or found.happened_at >= min(previous, NINE)


@given(st.integers(-(10**13), 10**13), st.integers(0, 10**9))
def test_a_wrong_clock_that_runs_on_changes_nothing(off, age):
    def told(by):
        return press(
            received_at=NINE,
            tablet_now_ms=NOW + by,
            at_ms=NOW + by - age,
            previous=None,
            behind_before_ms=behind(NINE, NOW + by),
        )

    assert told(off) == told(0)
