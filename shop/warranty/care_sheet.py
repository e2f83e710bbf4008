"""The care sheet of a paper: the rows frozen in it, with the day agreed on for a recheck where there is one.

It is put together from the paper each time it is asked for. Nobody's name stands on it, so none has to be erased.
"""

import json
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from shop import press
from shop.papers import compose, paper_size
from shop.printing import render
from shop.warranty.care_calendar import CareDate, care_calendar, shortened
from shop.warranty.models import Certificate, Revision
from shop.warranty.shown import when

PRINT_S = 60
STYLE = "care_paper.css"


def sheet_of(revision: Revision) -> dict[str, Any]:
    """What page and paper show: rows with dates first, then what always holds."""
    facts = json.loads(revision.facts)
    agreed = _agreed(revision.certificate)
    rows = [_row(entry, agreed.get(entry["key"])) for entry in facts["care"]]
    return {
        "facts": facts,
        "dated": [row for row in rows if row["from_day"] or row["until_day"]],
        "always": [row for row in rows if not row["from_day"] and not row["until_day"]],
        "issued_at": datetime.fromisoformat(facts["issued_at"]),
        "touch_up": _touch_up_until(facts),
        "paper_size": paper_size(facts["workshop"]["country"]),
    }


def dates_of(revision: Revision) -> list[CareDate]:
    """The days of this sheet, one entry a day to remember, in their order."""
    sheet = sheet_of(revision)
    found = [date for row in sheet["dated"] if (date := _date(row))]
    if sheet["touch_up"]:
        text = "What shows on the film until today is put right free of charge. Call us if anything does."
        found.append(CareDate("touch_up", sheet["touch_up"], "Last day of the free touch-up", text))
    return sorted(found, key=lambda one: (one.on, one.key))


def calendar_of(revision: Revision) -> bytes:
    facts = json.loads(revision.facts)
    car = f"{facts['vehicle']['model']}, {facts['vehicle']['colour']}"
    shop = facts["workshop"]
    return care_calendar(
        dates_of(revision),
        name=f"Care of the film: {car}",
        zone=facts["zone"],
        made=datetime.fromisoformat(facts["issued_at"]),
        paper=revision.certificate.token,
        address=", ".join([shop["name"], *shop["address"].splitlines()]),
    )


def pdf_of(revision: Revision) -> bytes:
    """The sheet as PDF. Whatever the press raises goes on to whoever asked."""
    sheet = sheet_of(revision)
    paper = compose(
        "warranty/care_paper.html",
        sheet,
        style=STYLE,
        mark=f"care.{revision.certificate.number}.{revision.n}",
        made=sheet["issued_at"],
    )
    return press.run(render, paper, timeout=PRINT_S)


def file_name(revision: Revision, ending: str) -> str:
    return f"care-{revision.certificate.number}.{ending}"


def _agreed(certificate: Certificate) -> dict[str, date]:
    rows = certificate.rechecks.filter(planned_on__isnull=False, done_on__isnull=True)
    return dict(rows.values_list("key", "planned_on"))


def _row(entry: Mapping[str, Any], agreed: date | None) -> dict[str, Any]:
    first, last = _day(entry["from_day"]), _day(entry["until_day"])
    return {
        **entry,
        "from_day": first,
        "until_day": last,
        "agreed": agreed,
        "when": when(first, last),
    }


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def _date(row: Mapping[str, Any]) -> CareDate | None:
    title = shortened(row["text"])
    if row["agreed"]:
        return CareDate(row["key"], row["agreed"], title, f"Agreed on for this day. {row['text']}")
    if row["from_day"]:
        more = f" Between {row['when'].replace(' to ', ' and ')}." if row["until_day"] else ""
        return CareDate(row["key"], row["from_day"], title, row["text"] + more)
    return CareDate(row["key"], row["until_day"], f"Last day: {title[:1].lower()}{title[1:]}", row["text"])


def _touch_up_until(facts: Mapping[str, Any]) -> date | None:
    days = [date.fromisoformat(line["last_day"]) for line in facts["cover"] if line["kind"] == "touch_up"]
    return max(days, default=None)
