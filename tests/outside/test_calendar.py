"""Last covered days.

Event day excluded: Regulation (EEC, Euratom) No 1182/71 Art. 3; Dodds v Walker [1981] 1 WLR 1027 (HL);
E J Riley v Eurostile [1985]; the examples in the dateutil documentation.
First day counted: BGB §§ 187(2), 188(2) alt. 2, 188(3).
"""

from datetime import date

import pytest

from shop.warranty.coverage import last_day

EVENT_DAY_EXCLUDED = [
    # Dodds v Walker: 30 September + 4 months ends 30 January, the 31st was one day late
    ("1978-09-30", 4, "1979-01-30"),
    # E J Riley v Eurostile: 23 March + 2 months is 23 May
    ("1983-03-23", 2, "1983-05-23"),
    # dateutil documentation
    ("2003-01-27", 1, "2003-02-27"),
    ("2003-01-31", 1, "2003-02-28"),
    ("2003-01-31", 2, "2003-03-31"),
    ("2000-02-28", 12, "2001-02-28"),
    ("1999-02-28", 12, "2000-02-28"),
    ("1999-03-01", 12, "2000-03-01"),
    # derived from Art. 3(2)(c): same date, or the month's last day where it is missing
    ("2024-02-29", 12, "2025-02-28"),
    ("2024-02-29", 48, "2028-02-29"),
    ("2024-02-29", 60, "2029-02-28"),
    ("2024-02-29", 120, "2034-02-28"),
    ("2096-02-29", 48, "2100-02-28"),
    ("2023-02-28", 12, "2024-02-28"),
    ("2023-02-28", 60, "2028-02-28"),
    ("2023-08-31", 6, "2024-02-29"),
    ("2024-08-31", 6, "2025-02-28"),
    ("2023-08-29", 6, "2024-02-29"),
    ("2022-08-29", 6, "2023-02-28"),
    ("2022-08-30", 6, "2023-02-28"),
    ("2025-01-31", 1, "2025-02-28"),
    ("2024-01-31", 1, "2024-02-29"),
    ("2025-03-31", 1, "2025-04-30"),
    ("2025-06-30", 1, "2025-07-30"),
    ("2025-10-31", 18, "2027-04-30"),
    ("2025-12-31", 2, "2026-02-28"),
    ("2026-05-15", 84, "2033-05-15"),
    ("2026-05-15", 120, "2036-05-15"),
]
FIRST_DAY_COUNTED = [
    ("2024-02-29", 12, "2025-02-28"),
    ("2024-02-29", 48, "2028-02-28"),
    ("2024-02-29", 60, "2029-02-28"),
    ("2023-08-31", 6, "2024-02-29"),
    ("2024-08-31", 6, "2025-02-28"),
    ("2023-03-01", 12, "2024-02-29"),
    ("2024-03-01", 12, "2025-02-28"),
    ("2025-01-31", 1, "2025-02-28"),
    ("2025-03-31", 1, "2025-04-30"),
    ("2025-01-01", 120, "2034-12-31"),
    ("2026-05-15", 84, "2033-05-14"),
]


@pytest.mark.parametrize(("start", "months", "end"), EVENT_DAY_EXCLUDED)
def test_event_day_excluded(start, months, end):
    assert last_day(date.fromisoformat(start), months, "event_day_excluded") == date.fromisoformat(end)


@pytest.mark.parametrize(("start", "months", "end"), FIRST_DAY_COUNTED)
def test_first_day_counted(start, months, end):
    assert last_day(date.fromisoformat(start), months, "first_day_counted") == date.fromisoformat(end)


def test_month_by_month_is_not_the_same():
    start = date(2025, 1, 31)
    once = last_day(start, 2, "event_day_excluded")
    twice = last_day(last_day(start, 1, "event_day_excluded"), 1, "event_day_excluded")
    assert (once, twice) == (date(2025, 3, 31), date(2025, 3, 28))
