"""A whole copy of the database while it is in use, and putting one back where there is none yet.

Copying the files of a database in use gives a broken or a stale copy. SQLite is copied by its own backup call,
in one step and so as of one moment; PostgreSQL by pg_dump, on the same snapshot that is counted.
"""

import os
import shutil
import subprocess
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.db import connection, transaction

from shop.keep.writing import UNFINISHED, sync_file, sync_folder

PATIENCE_S = 120
SQLITE, POSTGRESQL = "sqlite", "postgresql"
FILE = {SQLITE: "database.sqlite3", POSTGRESQL: "database.pgdump"}
BOOKS = "SELECT id, workshop_id, job_id, length, head FROM shop_book ORDER BY id"
MIGRATIONS = "SELECT app, name FROM django_migrations ORDER BY app, name"


class Unfit(Exception):
    """The database could not be copied or put back; the text says why."""


@dataclass(frozen=True)
class Copied:
    """A copy and what is in it. `books`: id, workshop, job, length, head."""

    file: Path
    engine: str
    counts: dict[str, int]
    books: list[tuple[int, int, int | None, int, str]]
    migrations: list[str]


def copy_to(folder: Path) -> Copied:
    file = folder / FILE[connection.vendor]
    copied = _copy_sqlite(file) if connection.vendor == SQLITE else _copy_postgresql(file)
    sync_file(file)
    return copied


def put_back(file: Path, engine: str) -> None:
    """Make this copy the shop's database. There must be none yet: `is_there` says."""
    if engine != connection.vendor:
        raise Unfit(f"This backup is one of {engine}, and this shop is set to {connection.vendor}.")
    if engine == SQLITE:
        _put_back_sqlite(file)
    else:
        _run(["pg_restore", "--no-owner", "--no-privileges", "--exit-on-error", "--single-transaction",
              "--dbname", _environment()["PGDATABASE"], str(file)])  # fmt: skip


def is_there() -> bool:
    """Whether this place has a database with anything of a shop in it."""
    if connection.vendor == SQLITE:
        path = _sqlite_path()
        if not path.exists() or path.stat().st_size == 0:
            return False
    there = "shop_workshop" in connection.introspection.table_names()
    connection.close()
    return there


def migrations() -> list[str]:
    with connection.cursor() as cursor:
        cursor.execute(MIGRATIONS)
        return [f"{app}.{name}" for app, name in cursor.fetchall()]


def counts() -> dict[str, int]:
    with connection.cursor() as cursor:
        return _counted(cursor, sorted(connection.introspection.table_names(cursor)))


def _copy_sqlite(file: Path) -> Copied:
    if connection.in_atomic_block:
        raise Unfit("The database cannot be copied in the middle of a change.")
    connection.ensure_connection()
    with closing(connection.Database.connect(file)) as copy:
        connection.connection.backup(copy, progress=_give_up_after(PATIENCE_S))
        # One file, without the -wal and -shm a copy of a shop in use would ask for.
        copy.execute("PRAGMA journal_mode=DELETE")
        found = [row[0] for row in copy.execute("PRAGMA integrity_check").fetchmany(5)]
        if found != ["ok"]:
            raise Unfit(f"The copied database is damaged: {'; '.join(found)}")
        tables = copy.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name"
        )
        names = [row[0] for row in tables]
        cursor = copy.cursor()
        return Copied(file, SQLITE, _counted(cursor, names), _books(cursor), _migrations(cursor))


def _give_up_after(seconds: float) -> Callable[[int, int, int], None]:
    """SQLite's call asks for ever where somebody never lets go of the database; a night's run has to end."""
    deadline = time.monotonic() + seconds

    def look(status: int, left: int, pages: int) -> None:
        if left and time.monotonic() > deadline:
            raise Unfit(
                f"The database was locked for {seconds:.0f} seconds. Try again when less is going on."
            )

    return look


def _copy_postgresql(file: Path) -> Copied:
    if not shutil.which("pg_dump"):
        raise Unfit("pg_dump is not on this machine: install the client package of PostgreSQL.")
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        cursor.execute("SELECT pg_export_snapshot()")
        snapshot = cursor.fetchone()[0]
        tables = sorted(connection.introspection.table_names(cursor))
        copied = Copied(file, POSTGRESQL, _counted(cursor, tables), _books(cursor), _migrations(cursor))
        _run(["pg_dump", "--format=custom", "--no-owner", "--no-privileges", f"--snapshot={snapshot}",
              f"--file={file}"])  # fmt: skip
        file.chmod(0o600)
        return copied


def _counted(cursor: Any, tables: list[str]) -> dict[str, int]:
    found = {}
    for name in tables:
        cursor.execute(f"SELECT count(*) FROM {connection.ops.quote_name(name)}")
        found[name] = cursor.fetchone()[0]
    return found


def _books(cursor: Any) -> list[tuple[int, int, int | None, int, str]]:
    cursor.execute(BOOKS)
    return [tuple(row) for row in cursor.fetchall()]


def _migrations(cursor: Any) -> list[str]:
    cursor.execute(MIGRATIONS)
    return [f"{app}.{name}" for app, name in cursor.fetchall()]


def _sqlite_path() -> Path:
    return Path(connection.settings_dict["NAME"])


def _put_back_sqlite(file: Path) -> None:
    path = _sqlite_path()
    connection.close()
    for tail in ("-wal", "-shm"):
        path.with_name(path.name + tail).unlink(missing_ok=True)
    half = path.with_name(f"{UNFINISHED}{path.name}")
    shutil.copyfile(file, half)
    half.chmod(0o600)
    sync_file(half)
    half.rename(path)
    sync_folder(path.parent)


def _environment() -> dict[str, str]:
    """The way to the database for PostgreSQL's own programs. Not as arguments: everybody can read those."""
    told = connection.settings_dict
    names = {"PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD"}
    found = {name: str(told[key]) for name, key in names.items() if told.get(key)}
    return {**found, "PGDATABASE": str(connection.settings_dict["NAME"])}


def _run(command: list[str]) -> None:
    try:
        done = subprocess.run(
            command, env=os.environ | _environment(), capture_output=True, text=True, check=False
        )
    except FileNotFoundError:
        raise Unfit(
            f"{command[0]} is not on this machine: install the client package of PostgreSQL."
        ) from None
    if done.returncode:
        raise Unfit(f"{command[0]} failed: {done.stderr.strip()[-500:]}")
