"""In what condition the machine under the shop is: its database, its keys, what the checks say."""

import stat
from dataclasses import dataclass

from django.conf import settings
from django.core import checks
from django.db import connection

KEYS = {
    "secret": "Secret key: sessions, forms, tablets",
    "pin": "PIN key: without it a stolen table of PINs is worth nothing",
    "signing": "Signing key: signs certificates",
}


@dataclass(frozen=True)
class Machine:
    database: str
    keys: list[tuple[str, str]]
    warnings: list[str]


def of_the_machine() -> Machine:
    found = checks.run_checks(tags=[checks.Tags.database], databases=["default"])
    return Machine(_database(), _keys(), [str(message.msg) for message in found])


def _database() -> str:
    if connection.vendor == "sqlite":
        return "SQLite " + ".".join(map(str, connection.Database.sqlite_version_info))
    with connection.cursor() as cursor:
        cursor.execute("SHOW server_version")
        return f"PostgreSQL {cursor.fetchone()[0]}"


def _keys() -> list[tuple[str, str]]:
    """Which keys there are and who can read them; never what they hold."""
    folder = settings.SHOP_DATA / "keys"
    names = sorted({path.name for path in folder.iterdir() if path.is_file()} | {"secret", "pin"})
    return [(KEYS.get(name, name), _state(folder / name)) for name in names]


def _state(path) -> str:
    if not path.exists():
        return "missing: set in the environment, or lost"
    loose = stat.S_IMODE(path.stat().st_mode) & 0o077
    return (
        "there, but others on this machine can read it: make it mode 0600"
        if loose
        else "there, kept to itself"
    )
