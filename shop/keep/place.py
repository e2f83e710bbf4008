"""A place that holds backups: a folder on another disk, with every file once and one folder a backup.

    files/photos/ab/abcdef…        bytes by digest, shared by all backups
    backups/2026-03-02T21-00-00Z/  database, files.json, keys.sealed, and manifest.json, written last

A backup counts when its folder has its final name and its manifest fits its own digest. Anything else was cut off.
"""

import fcntl
import json
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

from shop.keep.writing import UNFINISHED, half_written, make_folder, sync_folder, write_whole
from shop.record import chain
from shop.store import ORIGINAL

FORMAT = 1
MANIFEST, FILES, KEYS = "manifest.json", "files.json", "keys.sealed"
NAME = re.compile(r"\d{4}-\d\d-\d\dT\d\d-\d\d-\d\dZ(-\d+)?")


class Busy(Exception):
    """Another backup is being made in this place."""


@dataclass(frozen=True)
class File:
    """One file of a shelf. `digest` is that of its bytes, which for a smaller size is not the one in its name."""

    shelf: str
    sha256: str
    variant: str
    size: int
    digest: str

    @property
    def name(self) -> str:
        return self.sha256 if self.variant == ORIGINAL else f"{self.sha256}.{self.variant}"


@dataclass(frozen=True)
class Kept:
    """A backup that was finished."""

    folder: Path
    manifest: dict[str, Any]

    @property
    def made_at(self) -> datetime:
        return datetime.fromisoformat(self.manifest["made_at"])

    @property
    def database(self) -> Path:
        return self.folder / self.manifest["database"]["file"]

    def files(self) -> list[File]:
        """Everything of the store this backup holds. ValueError where the list is not the one of the manifest."""
        data = (self.folder / FILES).read_bytes()
        if sha256(data).hexdigest() != self.manifest["files"]["sha256"]:
            raise ValueError(f"The list of files of {self.folder.name} was changed or damaged.")
        return [File(*row) for row in json.loads(data)["files"]]


class Place:
    def __init__(self, root: Path) -> None:
        self.root = root
        self.backups, self.shelves = root / "backups", root / "files"

    def is_new(self) -> bool:
        return not self.backups.is_dir()

    def make(self) -> None:
        make_folder(self.backups)
        make_folder(self.shelves)

    @contextmanager
    def alone(self) -> Iterator[None]:
        """Held by one backup at a time, and let go of when that one is killed. Busy at once where it is held."""
        with open(self.root / ".lock", "a") as handle:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError:
                raise Busy(f"Another backup is being made in {self.root}.") from None
            yield

    def path(self, file: File) -> Path:
        return self.shelves / file.shelf / file.sha256[:2] / file.name

    def good(self) -> list[Kept]:
        """Every finished backup, oldest first."""
        if not self.backups.is_dir():
            return []
        folders = sorted(folder for folder in self.backups.iterdir() if NAME.fullmatch(folder.name))
        found = [kept for folder in folders if (kept := read(folder))]
        return sorted(found, key=lambda kept: (kept.made_at, kept.folder.name))

    def begin(self) -> Path:
        folder = self.backups / f"{UNFINISHED}backup"
        shutil.rmtree(folder, ignore_errors=True)
        make_folder(folder)
        return folder

    def finish(self, folder: Path, manifest: dict[str, Any]) -> Kept:
        """The manifest last, then the name: only now it is a backup."""
        told = {"bayproof_backup": FORMAT, **manifest}
        told |= {"digest": chain.digest(told)}
        write_whole(folder / MANIFEST, json.dumps(told, indent=1, ensure_ascii=False).encode())
        final = self._free_name(datetime.fromisoformat(manifest["made_at"]))
        folder.rename(final)
        sync_folder(self.backups)
        return Kept(final, told)

    def drop(self, kept: Kept) -> None:
        """Take one backup away: renamed first, so that one half taken away is never taken for a whole one."""
        gone = self.backups / f"{UNFINISHED}dropped-{kept.folder.name}"
        kept.folder.rename(gone)
        shutil.rmtree(gone)

    def clear(self) -> None:
        """Drop what killed runs left behind."""
        for left in list(half_written(self.root)):
            if left.is_dir():
                shutil.rmtree(left, ignore_errors=True)
            else:
                left.unlink(missing_ok=True)

    def sweep(self) -> int:
        """Drop files that no finished backup names any more; how many. Nothing where any list cannot be read."""
        named = {self.path(file) for kept in self.good() for file in kept.files()}
        if any(NAME.fullmatch(folder.name) and not read(folder) for folder in self.backups.iterdir()):
            return 0
        dropped = [path for path in self.shelves.glob("*/*/*") if path not in named]
        for path in dropped:
            path.unlink()
        return len(dropped)

    def _free_name(self, made_at: datetime) -> Path:
        name = f"{made_at.astimezone(UTC):%Y-%m-%dT%H-%M-%SZ}"
        path, n = self.backups / name, 1
        while path.exists():
            n += 1
            path = self.backups / f"{name}-{n}"
        return path


def read(folder: Path) -> Kept | None:
    """The backup in this folder, or None where it is not a whole one of a format this program knows."""
    try:
        told = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        digest = told.pop("digest")
        if told["bayproof_backup"] != FORMAT or chain.digest(told) != digest:
            return None
        kept = Kept(folder, told | {"digest": digest})
        whole = kept.database.stat().st_size == told["database"]["size"] and (folder / FILES).is_file()
        return kept if whole and kept.made_at.tzinfo else None
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None


def find(source: Path) -> Kept | None:
    """The backup meant by a path: that one, or the newest one of a place."""
    if (source / MANIFEST).is_file():
        return read(source)
    good = Place(source).good()
    return good[-1] if good else None


def place_of(kept: Kept) -> Place:
    return Place(kept.folder.parent.parent)
