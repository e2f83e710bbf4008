"""For whoever watches the machine: whether work can go on, without a word about whose it is."""

import shutil

from django.conf import settings
from django.db import DatabaseError, connection
from django.http import JsonResponse
from django.views.decorators.cache import never_cache

from shop import store
from shop.people import doors

LEAST_FREE = 50_000_000


@doors.public
@never_cache
def health(request):
    """200 when all is well, else 503: `{"ok", "database", "store", "disk"}`, each "ok" or what is the matter."""
    told = {"database": _database(), "store": _store(), "disk": _disk()}
    ok = set(told.values()) == {"ok"}
    return JsonResponse({"ok": ok, **told}, status=200 if ok else 503)


def _database() -> str:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        return "away"
    return "ok"


def _store() -> str:
    try:
        store.reach()
    except (store.Unreachable, OSError):
        return "away"
    return "ok"


def _disk() -> str:
    return "ok" if shutil.disk_usage(settings.SHOP_DATA).free >= LEAST_FREE else "full"
