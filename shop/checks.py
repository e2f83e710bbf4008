"""What the program asks of itself at start, of the live connection and not of the settings."""

from django.core.checks import Tags, Warning, register
from django.db import connection

FIXED_LINES = {(3, 44): 6, (3, 50): 7}
FIXED_FROM = (3, 51, 3)


def sqlite_has_wal_fault(version: tuple[int, int, int]) -> bool:
    """True for the SQLite releases whose WAL can be reset wrongly (3.7.0 up to the fixed ones).

    >>> sqlite_has_wal_fault((3, 40, 1)), sqlite_has_wal_fault((3, 44, 6)), sqlite_has_wal_fault((3, 53, 0))
    (True, False, False)
    """
    fixed = FIXED_LINES.get(version[:2])
    return not (version >= FIXED_FROM or (fixed is not None and version[2] >= fixed))


@register(Tags.database)
def record_is_guarded(app_configs, databases, **kwargs):
    from shop.record import triggers

    if not databases or "shop_entry" not in connection.introspection.table_names():
        return []
    missing = set(triggers.names()) - triggers.present()
    return [
        Warning(f"Trigger {name} is missing; migrate to make it again.", id="shop.W001")
        for name in sorted(missing)
    ]


@register(Tags.database)
def sqlite_is_durable(app_configs, databases, **kwargs):
    if not databases or connection.vendor != "sqlite":
        return []
    found = []
    with connection.cursor() as cursor:
        for pragma, wanted in (("journal_mode", "wal"), ("synchronous", "2"), ("foreign_keys", "1")):
            cursor.execute(f"PRAGMA {pragma}")
            value = str(cursor.fetchone()[0])
            if value not in (wanted, "memory"):
                found.append(Warning(f"SQLite's {pragma} is {value}, not {wanted}.", id="shop.W002"))
    version = connection.Database.sqlite_version_info
    if sqlite_has_wal_fault(version):
        text = ".".join(map(str, version))
        found.append(
            Warning(
                f"SQLite {text} has a fault in its write-ahead log; the pysqlite3 wheel brings a sound one.",
                id="shop.W003",
            )
        )
    return found
