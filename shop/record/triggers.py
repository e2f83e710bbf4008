"""Triggers that refuse to change or delete what was entered, on both databases.

A later table rebuild on SQLite drops them without a word, so they are made again after every migration,
and checks, tests and `prove` ask the live database for them by name.
"""

from django.db import connection

TABLES = ("shop_entry", "shop_signing", "shop_outcome", "shop_coverline")
SENTENCE = "The record book is only ever added to."


def names() -> list[str]:
    return [f"{table}_no_{event}" for table in TABLES for event in ("update", "delete")]


def present() -> set[str]:
    sql = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D'",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return {row[0] for row in cursor.fetchall()} & set(names())


def make(**_):
    tables = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "CREATE OR REPLACE FUNCTION shop_only_added() RETURNS trigger LANGUAGE plpgsql AS "
                f"$$ BEGIN RAISE EXCEPTION '{SENTENCE}'; END $$"
            )
        for table in TABLES:
            if table in tables:
                for event in ("update", "delete"):
                    for statement in _statements(table, event):
                        cursor.execute(statement)


def drop():
    """For proofs that a missing trigger is noticed; nothing in the program calls it."""
    with connection.cursor() as cursor:
        for table in TABLES:
            for event in ("update", "delete"):
                on = f" ON {table}" if connection.vendor == "postgresql" else ""
                cursor.execute(f"DROP TRIGGER IF EXISTS {table}_no_{event}{on}")


def _statements(table: str, event: str) -> list[str]:
    name = f"{table}_no_{event}"
    if connection.vendor == "postgresql":
        return [
            f"DROP TRIGGER IF EXISTS {name} ON {table}",
            f"CREATE TRIGGER {name} BEFORE {event.upper()} ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION shop_only_added()",
        ]
    return [
        f"DROP TRIGGER IF EXISTS {name}",
        f"CREATE TRIGGER {name} BEFORE {event.upper()} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{SENTENCE}'); END",
    ]
