"""A beginning many tests share, made once a process: its rows are put back instead of worked out again."""

import pickle
from collections.abc import Callable
from typing import Any

from django.apps import apps
from django.conf import settings
from django.contrib.auth.models import User
from django.db import connection

from shop.models import Workshop

# Made by the migrations, so there before any test.
ALREADY_THERE = {"django_content_type", "auth_permission", "django_migrations"}
_kept: dict[tuple[Any, ...], tuple[list[str], bytes]] = {}


def kept(build: Callable[..., Any], *args: Any, **named: Any) -> Any:
    """What `build(*args, **named)` returns, on an empty database; every caller gets objects of their own.

    Files it stored stay with the data folder, so another folder builds anew. PostgreSQL hands rows back
    converted and counts its numbers apart: there it is always built.
    """
    if connection.vendor != "sqlite" or Workshop.objects.exists() or User.objects.exists():
        return build(*args, **named)
    key = (build, repr(args), repr(sorted(named.items())), str(settings.SHOP_DATA))
    if key not in _kept:
        made = build(*args, **named)
        _kept[key] = (_rows(), pickle.dumps(made))
        return made
    rows, made = _kept[key]
    _put_back(rows)
    return pickle.loads(made)


def _tables() -> list[str]:
    models = apps.get_models(include_auto_created=True)
    return [model._meta.db_table for model in models if model._meta.db_table not in ALREADY_THERE]


def _rows() -> list[str]:
    """As statements, values quoted by the database itself: nothing is converted on its way."""
    found = []
    with connection.cursor() as cursor:
        for table in _tables():
            cursor.execute(f'PRAGMA table_info("{table}")')
            values = " || ', ' || ".join(f'quote("{column[1]}")' for column in cursor.fetchall())
            cursor.execute(f'SELECT {values} FROM "{table}" ORDER BY rowid')
            found += [f'INSERT INTO "{table}" VALUES ({row})' for (row,) in cursor.fetchall()]
    return found


def _put_back(rows: list[str]) -> None:
    with connection.cursor() as cursor:
        for statement in rows:
            cursor.execute(statement)
