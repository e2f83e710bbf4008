"""The care sheet: what the owner may do from which day on, worked out from the terms and the hand-over."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from dateutil.relativedelta import relativedelta


@dataclass(frozen=True)
class CareRow:
    """One line of the sheet. `from_day` is the first day it holds, `until_day` the last; None has no such bound."""

    key: str
    text: str
    from_day: date | None
    until_day: date | None
    recheck: bool


def care_rows(
    terms: Mapping[str, Any],
    handed_over: date,
    *,
    language: str,
    lowest_night_c100: int | None = None,
    cold_season: bool | None = None,
) -> list[CareRow]:
    """Rows with dates, in order of their first day, those that always hold last.

    Where it is cold, or nobody says, the longer time counts: a sheet must not allow too soon. ValueError for
    terms without care rows in that language, or with dates beyond the calendar.
    """
    care = terms.get("care") or {}
    cold = _is_cold(care, lowest_night_c100, cold_season)
    rows = [_row(row, handed_over, cold, language) for row in care.get("rows") or ()]
    if not rows:
        raise ValueError("The terms hold no care rows.")
    return sorted(
        rows, key=lambda row: (row.from_day is None and row.until_day is None, row.from_day or handed_over)
    )


def first_recheck(rows: list[CareRow]) -> CareRow | None:
    """The recheck that is due first."""
    return next((row for row in rows if row.recheck), None)


def _is_cold(care: Mapping[str, Any], lowest_night_c100: int | None, cold_season: bool | None) -> bool:
    if lowest_night_c100 is not None:
        return lowest_night_c100 < int(care["cold_below_c100"])
    return cold_season is not False


def _row(row: Mapping[str, Any], handed_over: date, cold: bool, language: str) -> CareRow:
    text = (row.get("text") or {}).get(language)
    if not text:
        raise ValueError(
            f"The care row “{row.get('key')}” has no text in the language of the paper ({language})."
        )
    from_days = row.get("cold_days") if cold and "cold_days" in row else row.get("from_days")
    try:
        return CareRow(
            key=row["key"],
            text=text,
            from_day=_after(handed_over, from_days, row.get("from_months")),
            until_day=_after(handed_over, row.get("until_days"), row.get("until_months")),
            recheck=bool(row.get("recheck")),
        )
    except (OverflowError, ValueError) as error:
        raise ValueError(f"The care row “{row['key']}” leads beyond the calendar.") from error


def _after(start: date, days: int | None, months: int | None) -> date | None:
    if days is None and months is None:
        return None
    return start + relativedelta(months=months or 0) + timedelta(days=days or 0)
