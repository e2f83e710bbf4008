"""Claim numbers, one series a year and workshop."""

from zoneinfo import ZoneInfo

from shop.claims.models import Claim
from shop.people.models import Workshop
from shop.warranty.numbers import number_after


def next_number(workshop, now) -> str:
    """`26-0001`. The workshop's row is locked, so that two claims at once get two numbers."""
    Workshop.objects.select_for_update(no_key=True).get(pk=workshop.pk)
    today = now.astimezone(ZoneInfo(workshop.zone)).date()
    return number_after(Claim.objects.last_number(workshop, f"{today:%y}"), today)
