"""Last days on a certificate, against a calendar reckoned another way, for hand-overs all over the year."""

import calendar
import json
from datetime import date, datetime, timedelta

import pytest

from shop import models
from shop.people.identity import Proven
from shop.warranty import actions
from tests import make_finished

pytestmark = pytest.mark.django_db


def months_on(start: date, months: int) -> date:
    """Event day excluded (1182/71 Art. 3): the same number, or the month's end where it is missing."""
    year, month = divmod(start.year * 12 + start.month - 1 + months, 12)
    return date(year, month + 1, min(start.day, calendar.monthrange(year, month + 1)[1]))


def first_counted(start: date, months: int) -> date:
    """BGB 187 (2), 188 (2) and (3): the day before that number; the month's end where the number is missing."""
    year, month = divmod(start.year * 12 + start.month - 1 + months, 12)
    longest = calendar.monthrange(year, month + 1)[1]
    if start.day > longest:
        return date(year, month + 1, longest)
    return date(year, month + 1, start.day) - timedelta(days=1)


DAYS = [date(2024, 2, 29), date(2025, 12, 31), date(2026, 1, 31), date(2026, 3, 1), date(2026, 5, 15)]


@pytest.mark.parametrize("on", DAYS, ids=str)
@pytest.mark.parametrize(
    ("counting", "reckoned", "touch_up"),
    [("event_day_excluded", months_on, 30), ("first_day_counted", first_counted, 29)],
    ids=["excluded", "counted"],
)
def test_last_days(on, counting, reckoned, touch_up):
    done = make_finished.finished_job(panels=(("hood", 1),), with_photos=False, handed_over=on)
    terms = models.Document.objects.in_force(done.shop, "terms")
    models.Document.objects.filter(pk=terms.pk).update(body=terms.body | {"counting": counting})
    now = datetime.combine(on, datetime.min.time(), tzinfo=make_finished.HANDED_OVER.tzinfo) + timedelta(
        hours=12
    )

    revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=now)

    cover = {line["kind"]: line for line in json.loads(revision.facts)["cover"]}
    assert cover["material"]["last_day"] == reckoned(on, 60).isoformat()
    assert cover["workmanship"]["last_day"] == reckoned(on, 12).isoformat()
    assert cover["touch_up"]["last_day"] == (on + timedelta(days=touch_up)).isoformat()
    assert {line["first_day"] for line in cover.values()} == {on.isoformat()}


def test_flat_panels_may_be_promised_less():
    done = make_finished.finished_job(panels=(("hood", 1), ("fender-left", 1)), with_photos=False)
    terms = models.Document.objects.in_force(done.shop, "terms")
    terms.body["cover"]["material"]["flat_months"] = 36
    models.Document.objects.filter(pk=terms.pk).update(body=terms.body)
    revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=make_finished.HANDED_OVER)
    film = {c["panel"]: c["last_day"] for c in json.loads(revision.facts)["cover"] if c["kind"] == "material"}
    assert film == {"hood": "2029-03-03", "fender-left": "2031-03-03"}


def test_care_dates_allow_nothing_too_soon():
    """Nobody knows the nights to come, so the first wash waits for fourteen days."""
    done = make_finished.finished_job(panels=(("hood", 1),), with_photos=False)
    revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=make_finished.HANDED_OVER)
    care = {row["key"]: row for row in json.loads(revision.facts)["care"]}
    assert care["first_wash"]["from_day"] == "2026-03-17"
    assert care["settling"]["until_day"] == "2026-04-02"
    assert (care["first_recheck"]["from_day"], care["first_recheck"]["until_day"]) == (
        "2026-03-10",
        "2026-03-17",
    )
    assert care["next_recheck"]["from_day"] == "2027-03-03"
