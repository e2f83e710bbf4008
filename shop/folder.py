"""Bytes at an address in the shop's own folder: whole or not at all, also after a power cut."""

import os
import tempfile
from collections.abc import Iterable, Iterator
from hashlib import sha256
from pathlib import Path

from django.conf import settings

READ_ONLY, OWN = 0o440, 0o600
UNFINISHED = ".new-"
_PIECE = 1 << 20


def path(address: str) -> Path:
    return settings.SHOP_DATA / address


def put(address: str, data: bytes | Path, own: str) -> None:
    """Keep these bytes, whose digest is `own`. A damaged file there is replaced; a sound one is left alone."""
    file = path(address)
    if file.exists() and digest(address) == own:
        return
    _write(file, data, READ_ONLY)


def read(address: str) -> bytes | None:
    try:
        return path(address).read_bytes()
    except FileNotFoundError:
        return None


def has(address: str) -> bool:
    return path(address).exists()


def digest(address: str) -> str | None:
    """Of the bytes there, read again; None where there are none."""
    try:
        return digest_of_file(path(address))
    except FileNotFoundError:
        return None


def digest_of_file(file: Path) -> str:
    running = sha256()
    with file.open("rb") as source:
        while piece := source.read(_PIECE):
            running.update(piece)
    return running.hexdigest()


def names(shelf: str) -> Iterator[str]:
    """The last part of every address on a shelf, in order."""
    for folder in sorted(path(shelf).glob("[0-9a-f][0-9a-f]")):
        yield from sorted(file.name for file in folder.iterdir())


def forget(addresses: Iterable[str]) -> None:
    for address in addresses:
        path(address).unlink(missing_ok=True)


def note(address: str, data: bytes) -> None:
    """A small file that changes; whoever reads meanwhile sees the old or the new one."""
    _write(path(address), data, OWN)


def reach() -> None:
    """OSError where the folder is gone."""
    os.stat(settings.SHOP_DATA)


def sweep(shelf: str, before: float) -> int:
    """Drop what a killed process left half-written before this POSIX time; how many files that were."""
    dropped = 0
    for file in path(shelf).glob(f"[0-9a-f][0-9a-f]/{UNFINISHED}*"):
        if file.stat().st_mtime < before:
            file.unlink(missing_ok=True)
            dropped += 1
    return dropped


def _write(file: Path, data: bytes | Path, mode: int) -> None:
    _make(file.parent)
    handle, name = tempfile.mkstemp(prefix=UNFINISHED, dir=file.parent)
    try:
        with os.fdopen(handle, "wb") as out:
            copy(data, out)
            out.flush()
            os.fchmod(out.fileno(), mode)
            os.fsync(out.fileno())
        os.replace(name, file)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    _sync(file.parent)


def copy(data: bytes | Path, out) -> None:
    if isinstance(data, bytes):
        out.write(data)
        return
    with data.open("rb") as file:
        while piece := file.read(_PIECE):
            out.write(piece)


def _make(folder: Path) -> None:
    """A new folder is only there after a power cut when its parent was flushed as well."""
    if folder.exists():
        return
    _make(folder.parent)
    folder.mkdir(exist_ok=True)
    _sync(folder.parent)


def _sync(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
