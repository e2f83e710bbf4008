"""What the terms promise for this car: cover lines with their first and last day."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from shop.templatetags.words import in_language
from shop.warranty.care import care_rows
from shop.warranty.carried import Carried, carried
from shop.warranty.coverage import EVENT_DAY_EXCLUDED, days_last_day, last_day
from shop.work.floor import Floor
from shop.work.kinds import Feature

KINDS = ("material", "workmanship", "touch_up")


def cover_lines(floor: Floor, terms: Mapping[str, Any], start: date, language: str) -> list[dict]:
    """One line for each piece and kind of cover. Both ends are covered; the length is added once, from `start`.

    Film that took the place of covered film goes on under what that was promised, or has nothing left of it.
    """
    left = carried(floor, start)
    return [
        _carried_line(piece, kind, left[piece.row.pk][kind], terms, start, language)
        if piece.row.pk in left
        else _line(piece, kind, terms, start, language)
        for kind in KINDS
        if kind in terms["cover"]
        for piece in floor.pieces
        if piece.row.pk not in left or kind in left[piece.row.pk]
    ]


def _carried_line(
    piece, kind: str, left: Carried, terms: Mapping[str, Any], start: date, language: str
) -> dict:
    length = f"{left.months} months" if left.months else f"{left.days} days"
    return {
        "fitting": piece.row.pk,
        "panel": piece.spec.panel,
        "place": piece.place,
        "label": piece.name,
        "kind": kind,
        "title": in_language(terms["cover"][kind]["title"], language),
        "months": left.months,
        "days": left.days,
        "length": length if left.afresh else f"what is left of it, {length}",
        "counting": left.counting,
        "first_day": start.isoformat(),
        "last_day": left.last_day.isoformat(),
    }


def _line(piece, kind: str, terms: Mapping[str, Any], start: date, language: str) -> dict:
    promise, counting = terms["cover"][kind], terms["counting"]
    months, days = _months(promise, piece.spec.features), promise.get("days")
    end = last_day(start, months, counting) if months else days_last_day(start, days, counting)
    return {
        "fitting": piece.row.pk,
        "panel": piece.spec.panel,
        "place": piece.place,
        "label": piece.name,
        "kind": kind,
        "title": in_language(promise["title"], language),
        "months": months,
        "days": None if months else days,
        "length": f"{months} months" if months else f"{days} days",
        "counting": counting,
        "first_day": start.isoformat(),
        "last_day": end.isoformat(),
    }


def _months(promise: Mapping[str, Any], features: frozenset[str]) -> int | None:
    """Panels that lie flat see the most sun and may carry a shorter period."""
    if Feature.HORIZONTAL in features:
        return promise.get("flat_months") or promise.get("months")
    return promise.get("months")


def counting_said(terms: Mapping[str, Any]) -> str:
    if terms["counting"] == EVENT_DAY_EXCLUDED:
        return "The day of hand-over is covered; the period ends with the day that has the same number."
    return "The day of hand-over is covered and counts as the first; the period ends with the day before its number."


def care(terms: Mapping[str, Any], start: date, language: str) -> list[dict]:
    """The care sheet with its dates. Nobody knows the nights to come, so the times for cold weather count."""
    return [
        {
            "key": row.key,
            "text": row.text,
            "from_day": row.from_day.isoformat() if row.from_day else "",
            "until_day": row.until_day.isoformat() if row.until_day else "",
            "recheck": row.recheck,
        }
        for row in care_rows(terms, start, language=language)
    ]
