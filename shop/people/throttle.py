"""Tries counted in a table, so that the count holds over all processes.

A try is counted before anything is checked and given back when it succeeds: twenty at once are twenty. The
address a request comes from is not trusted for anything. The price: whoever keeps typing somebody's name wrongly
keeps that name out of the desk until the window ends; tablets and open sessions go on working.
"""

from datetime import UTC, datetime, timedelta

from django.db import transaction
from django.db.models import F

from shop.people.models import Throttle

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def window_start(now, length: timedelta):
    """The start of the fixed window `now` falls in."""
    return EPOCH + (now - EPOCH) // length * length


@transaction.atomic
def count(scope: str, key: str, *, now, length: timedelta) -> int:
    """How many tries this makes in the running window; committed at once."""
    Throttle.objects.filter(scope=scope, window__lt=now - 2 * length).delete()
    row, _ = Throttle.objects.get_or_create(scope=scope, key=key, window=window_start(now, length))
    Throttle.objects.filter(pk=row.pk).update(count=F("count") + 1)
    return Throttle.objects.values_list("count", flat=True).get(pk=row.pk)


def give_back(scope: str, key: str, *, now, length: timedelta) -> None:
    """A try that succeeded is none."""
    Throttle.objects.filter(scope=scope, key=key, window=window_start(now, length), count__gt=0).update(
        count=F("count") - 1
    )


def forget(scope: str, key: str) -> None:
    Throttle.objects.filter(scope=scope, key=key).delete()
