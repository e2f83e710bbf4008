import calendar
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.warranty.coverage import days_last_day, is_covered, last_day

STARTS = st.dates(date(1990, 1, 1), date(2200, 12, 31))
MONTHS = st.integers(1, 360)


@pytest.mark.parametrize(
    ("start", "months", "counting", "says"),
    [
        (date(2025, 1, 1), 0, "event_day_excluded", "1 or more"),
        (date(2025, 1, 1), -3, "first_day_counted", "1 or more"),
        (date(2025, 1, 1), 1.5, "event_day_excluded", "whole number"),
        (date(2025, 1, 1), True, "event_day_excluded", "whole number"),
        (date(2025, 1, 1), 12, "calendar", "Counting is"),
        (date(2025, 1, 1), 12, "", "Counting is"),
        (datetime(2025, 1, 1, tzinfo=UTC), 12, "event_day_excluded", "calendar day"),
        ("2025-01-01", 12, "event_day_excluded", "calendar day"),
        (date(9999, 6, 1), 12, "event_day_excluded", "9999"),
        (date(9999, 6, 2), 12, "first_day_counted", "9999"),
        (date(2025, 1, 1), 10**9, "event_day_excluded", "9999"),
        (date(2025, 1, 1), 10**30, "first_day_counted", "9999"),
    ],
)
def test_nonsense_is_refused_with_a_sentence(start, months, counting, says):
    with pytest.raises(ValueError, match=says):
        last_day(start, months, counting)


@pytest.mark.parametrize("days", [0, -1, True, 2.0, 10**12])
def test_days_refuse_nonsense_too(days):
    with pytest.raises(ValueError, match=r"whole number|9999"):
        days_last_day(date(2025, 1, 1), days, "event_day_excluded")


@pytest.mark.parametrize(
    ("start", "days", "counting", "end"),
    [
        (date(2024, 2, 1), 30, "event_day_excluded", date(2024, 3, 2)),
        (date(2023, 2, 1), 30, "event_day_excluded", date(2023, 3, 3)),
        (date(2024, 2, 1), 30, "first_day_counted", date(2024, 3, 1)),
        (date(2025, 12, 31), 1, "event_day_excluded", date(2026, 1, 1)),
        (date(2025, 12, 31), 1, "first_day_counted", date(2025, 12, 31)),
    ],
)
def test_touch_up_days(start, days, counting, end):
    assert days_last_day(start, days, counting) == end


def test_both_ends_are_covered():
    first, last = date(2024, 2, 29), date(2025, 2, 28)
    assert is_covered(first, first, last)
    assert is_covered(last, first, last)
    assert not is_covered(first - timedelta(1), first, last)
    assert not is_covered(last + timedelta(1), first, last)


@given(STARTS, MONTHS)
def test_event_day_excluded_against_a_second_way_of_counting(start, months):
    year, month = divmod(start.year * 12 + start.month - 1 + months, 12)
    length = calendar.monthrange(year, month + 1)[1]
    assert last_day(start, months, "event_day_excluded") == date(year, month + 1, min(start.day, length))


@given(STARTS, MONTHS)
def test_counting_the_first_day_never_gives_more_and_at_most_one_day_less(start, months):
    longer = last_day(start, months, "event_day_excluded")
    shorter = last_day(start, months, "first_day_counted")
    assert timedelta(0) <= longer - shorter <= timedelta(1)


@given(STARTS, MONTHS, st.sampled_from(["event_day_excluded", "first_day_counted"]))
def test_more_months_and_later_starts_never_end_earlier(start, months, counting):
    assert last_day(start, months, counting) < last_day(start, months + 1, counting)
    assert last_day(start, months, counting) <= last_day(start + timedelta(1), months, counting)
