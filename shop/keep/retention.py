"""How long customers' data stay, and whose time is over. The setting is the last entry about it in the book."""

import json
from collections.abc import Iterator
from datetime import date, datetime
from zoneinfo import ZoneInfo

from dateutil.relativedelta import relativedelta
from django.db.models import Max, Q

from shop.intake.models import Customer
from shop.people.models import Workshop
from shop.record.models import Entry

MOST_YEARS = 50


def years_kept(workshop: Workshop) -> int:
    """0 where they stay until the customer asks."""
    last = (
        Entry.objects.filter(book__workshop=workshop, book__job__isnull=True, verb="set_retention")
        .order_by("-number")
        .values_list("body", flat=True)
        .first()
    )
    return json.loads(last)["to"] if last else 0


def due(workshop: Workshop, now: datetime) -> list[tuple[Customer, date]]:
    """Customers whose time is over, each with the day it was, the longest over first. Nobody without a setting."""
    years = years_kept(workshop)
    if not years:
        return []
    today = now.astimezone(ZoneInfo(workshop.zone)).date()
    ends = ((customer, last + relativedelta(years=years)) for customer, last in _last_days(workshop))
    found = [(customer, over) for customer, over in ends if over < today]
    return sorted(found, key=lambda one: (one[1], one[0].pk))


def _last_days(workshop: Workshop) -> Iterator[tuple[Customer, date]]:
    """Each customer not erased with the last day anything happened or any cover ran; those with open jobs left out."""
    zone = ZoneInfo(workshop.zone)
    rows = (
        Customer.objects.filter(workshop=workshop, name__erased_at__isnull=True)
        .exclude(jobs__in=_open_jobs(workshop))
        .select_related("name")
        .annotate(
            visited=Max("jobs__hand_over__on"),
            called_off=Max("jobs__cancelled_at"),
            covered=Max(
                "jobs__certificate__revisions__cover__last_day",
                filter=Q(jobs__certificate__revisions__withdrawn_at__isnull=True),
            ),
            claimed=Max("ownerships__vehicle__claims__told_on"),
            owned=Max("ownerships__since"),
        )
    )
    for row in rows:
        days = [row.visited, row.covered, row.claimed, row.owned]
        days += [moment.astimezone(zone).date() for moment in (row.called_off, row.since) if moment]
        yield row, max(day for day in days if day)


def _open_jobs(workshop: Workshop):
    return workshop.jobs.filter(hand_over__isnull=True, cancelled_at__isnull=True)
