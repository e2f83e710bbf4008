"""Putting a backup into an empty place: files and keys first, the database last, since only it makes a shop.

A restore that was cut off is begun again from the same backup; the mark it leaves says which.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from django.conf import settings
from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader

from shop import store
from shop.keep import database, heads, sealed
from shop.keep.backup import key_print, keys_here
from shop.keep.place import KEYS, File, Kept, place_of
from shop.keep.writing import write_whole

MARK = "restore-unfinished"
WITHOUT = {
    "secret": "Everybody signs in again. Tablets go on working; one that has to open its link again is revoked and "
    "enrolled anew.",
    "pin": "No PIN can be checked, so nothing can be signed: the owner signs in with the password and sets new PINs.",
    "signing": "New papers are signed with another key; those already given are still told by their digest.",
    "tls.key": "The shop's own certificate is made afresh, and every tablet has to trust it once more.",
}

Progress = Callable[[int, int], None]


class Refused(Exception):
    """This backup cannot be put here; the text says why. `misused` where it is the call that was wrong."""

    def __init__(self, text: str, *, misused: bool = False) -> None:
        super().__init__(text)
        self.misused = misused


@dataclass
class Restored:
    """What was put back, the keys that are not there, and what did not come back as it was."""

    kept: Kept
    files: int = 0
    keys: list[str] = field(default_factory=list)
    missing_keys: list[str] = field(default_factory=list)
    migrated: bool = False
    wrong: list[str] = field(default_factory=list)

    @property
    def heads(self) -> list[heads.Head]:
        source = f"backup {self.kept.folder.name}"
        books = self.kept.manifest["books"]
        return [
            heads.Head(book["book"], book["length"], book["head"], source) for book in books if book["length"]
        ]


def restore(kept: Kept, *, passphrase: str = "", progress: Progress | None = None) -> Restored:
    """Put this backup here. Refused, with nothing written, where the place is not empty or the backup is damaged."""
    files = _must_be_sound(kept)
    _must_be_empty(kept)
    keys = _opened(kept, passphrase)
    done = Restored(kept)
    write_whole(_mark(), kept.manifest["digest"].encode())
    _put_files(kept, files, done, progress)
    _put_keys(kept, keys, done)
    database.put_back(kept.database, kept.manifest["database"]["engine"])
    _compare(kept, done)
    _settle(kept, done)
    heads.note(done.heads)
    _mark().unlink()
    return done


def _mark() -> Path:
    return settings.SHOP_DATA / MARK


def _must_be_sound(kept: Kept) -> list[File]:
    told = kept.manifest["database"]
    if told["engine"] != connection.vendor:
        text = f"This backup is one of {told['engine']}, and this shop is set to {connection.vendor}."
        raise Refused(text, misused=True)
    if store.digest_of(kept.database) != told["sha256"]:
        raise Refused(
            "The copy of the database in this backup was changed or damaged. Take an earlier backup."
        )
    known = {
        f"{app}.{name}" for app, name in MigrationLoader(None, ignore_no_migrations=True).disk_migrations
    }
    later = sorted(set(kept.manifest["migrations"]) - known)
    if later:
        raise Refused(f"This backup was made by a later program ({later[-1]}). Install that one first.")
    try:
        return kept.files()
    except (OSError, ValueError) as fault:
        raise Refused(str(fault)) from fault


def _must_be_empty(kept: Kept) -> None:
    if _mark().exists() and _mark().read_text() == kept.manifest["digest"]:
        return
    if database.is_there():
        raise Refused("There is a shop here already. Restore into an empty place.", misused=True)
    if any(True for shelf in store.SHELVES for _ in store.walk(shelf)):
        text = f"{settings.SHOP_DATA} holds photos or papers already. Restore into an empty place."
        raise Refused(text, misused=True)


def _opened(kept: Kept, passphrase: str) -> dict[str, bytes]:
    if not passphrase or not kept.manifest["keys"]["sealed"]:
        return {}
    try:
        return sealed.unseal((kept.folder / KEYS).read_bytes(), passphrase)
    except (OSError, sealed.Locked) as fault:
        raise Refused(str(fault)) from fault


def _put_files(kept: Kept, files: list[File], done: Restored, progress: Progress | None) -> None:
    place = place_of(kept)
    for count, file in enumerate(files, start=1):
        path = place.path(file)
        name = f"{file.shelf} {file.name[:12]}…"
        if not path.is_file():
            done.wrong.append(f"{name} is not in the backup any more.")
        elif store.digest_of(path) != file.digest:
            done.wrong.append(f"{name} was changed in the backup and was not put back.")
        else:
            store.put(path, file.sha256, file.variant, shelf=file.shelf)
            done.files += 1
        if progress:
            progress(count, len(files))


def _put_keys(kept: Kept, keys: dict[str, bytes], done: Restored) -> None:
    for name, data in keys.items():
        if "/" not in name and not name.startswith("."):
            write_whole(settings.SHOP_DATA / "keys" / name, data)
    here = {name: key_print(name, data) for name, data in keys_here().items()}
    for name, wanted in kept.manifest["keys"]["prints"].items():
        (done.keys if here.get(name) == wanted else done.missing_keys).append(name)


def _compare(kept: Kept, done: Restored) -> None:
    here, told = database.counts(), kept.manifest["counts"]
    for table in sorted(here.keys() | told.keys()):
        if here.get(table) != told.get(table):
            done.wrong.append(f"{table} has {here.get(table, 0)} rows, the backup says {told.get(table, 0)}.")


def _settle(kept: Kept, done: Restored) -> None:
    """Bring the rows to this program's shape, and end every session: one ended since the backup would live again."""
    loader = MigrationLoader(connection)
    done.migrated = bool(set(loader.disk_migrations) - set(loader.applied_migrations))
    if done.migrated:
        call_command("migrate", verbosity=0, interactive=False)
    Session.objects.all().delete()
