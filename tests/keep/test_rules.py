"""Which backups stay, and when the next is due."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.keep.rules import PERIODS, read_rules, read_span, staying

YEAR = [datetime(2026, 1, 1, 21, tzinfo=UTC) + timedelta(days=n) for n in range(365)]


def test_a_year_of_nights_leaves_seven_days_four_weeks_twelve_months():
    rules = read_rules("7 daily, 4 weekly, 12 monthly")
    kept = sorted(staying(YEAR, rules, UTC))
    assert kept[-7:] == YEAR[-7:]
    weeks = {at.isocalendar()[:2] for at in kept if at >= YEAR[-28]}
    assert len(weeks) >= 4
    assert {(at.year, at.month) for at in kept} == {(2026, month) for month in range(1, 13)}
    last_of_march = datetime(2026, 3, 31, 21, tzinfo=UTC)
    assert last_of_march in kept and last_of_march - timedelta(days=1) not in kept
    # The last seven days hold the ends of two weeks and of one month already.
    assert len(kept) == 7 + 2 + 11


def test_days_are_those_of_the_shop():
    late = datetime(2026, 3, 2, 23, 30, tzinfo=UTC)  # already the third in Madrid
    next_noon = datetime(2026, 3, 3, 12, tzinfo=UTC)
    assert staying([late, next_noon], {"daily": 2}, UTC) == {late, next_noon}
    assert staying([late, next_noon], {"daily": 2}, ZoneInfo("Europe/Madrid")) == {next_noon}


def test_weeks_without_a_backup_cost_no_history():
    spring, autumn = datetime(2026, 3, 2, tzinfo=UTC), datetime(2026, 9, 7, tzinfo=UTC)
    assert staying([spring, autumn], {"weekly": 2}, UTC) == {spring, autumn}


@given(
    st.lists(st.integers(0, 50_000), min_size=1, max_size=60),
    st.dictionaries(st.sampled_from(sorted(PERIODS)), st.integers(1, 12)),
)
def test_the_newest_stays_and_never_more_than_the_rules_allow(hours, rules):
    moments = [YEAR[0] + timedelta(hours=count) for count in hours]
    kept = staying(moments, rules, UTC)
    assert max(moments) in kept
    assert kept <= set(moments)
    assert len(kept) <= 1 + sum(rules.values())


@pytest.mark.parametrize(
    "text", ["", "7", "seven daily", "0 daily", "7 daily 4 weekly", "7 daily, 6 daily", "-1 daily"]
)
def test_a_rule_that_cannot_be_read_is_refused_in_a_sentence(text):
    with pytest.raises(ValueError, match="7 daily, 4 weekly"):
        read_rules(text)


@pytest.mark.parametrize(("text", "length"), [("30m", timedelta(minutes=30)), (" 1d ", timedelta(days=1))])
def test_a_length_of_time_is_read(text, length):
    assert read_span(text) == length


@pytest.mark.parametrize("text", ["", "h", "0h", "1.5h", "20 years", "-3d"])
def test_a_length_that_cannot_be_read_is_refused(text):
    with pytest.raises(ValueError, match="20h"):
        read_span(text)
