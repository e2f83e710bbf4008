"""Bytes kept under their SHA-256: photos with the sizes made of them, and printed papers.

A path is decided by the digest, once, and never changes; no name a person chose is ever part of it. Callers
know digests and variants only, so that a bucket can stand behind these functions where a chain of shops wants one.
"""

import os
import re
import tempfile
from collections.abc import Iterator
from hashlib import sha256 as new_sha256
from pathlib import Path

from django.conf import settings

ORIGINAL, SCREEN, PRINT = "original", "screen", "print"
SHELVES = {"photos": (ORIGINAL, SCREEN, PRINT), "papers": (ORIGINAL,)}
READ_ONLY = 0o440
UNFINISHED = ".new-"
_DIGEST = re.compile(r"[0-9a-f]{64}")
_PIECE = 1 << 20


class Missing(LookupError):
    """Nothing is kept under this digest; the text names digest and variant."""


def digest_of(data: bytes | Path) -> str:
    """SHA-256 of bytes or of a file, in hexadecimal."""
    if isinstance(data, bytes):
        return new_sha256(data).hexdigest()
    running = new_sha256()
    with data.open("rb") as file:
        while piece := file.read(_PIECE):
            running.update(piece)
    return running.hexdigest()


def put(data: bytes | Path, sha256: str, variant: str = ORIGINAL, *, shelf: str = "photos") -> None:
    """Keep these bytes, durable when this returns. The same bytes again change nothing.

    A damaged file under this digest is replaced. ValueError when an original does not have the digest it is
    put under; a smaller size stands under the digest of the photo it was made of.
    """
    path = _path(sha256, variant, shelf)
    own = digest_of(data)
    if variant == ORIGINAL and own != sha256:
        raise ValueError(f"These bytes have the digest {own}, not {sha256}.")
    if path.exists() and digest_of(path) == own:
        return
    _make_folder(path.parent)
    handle, name = tempfile.mkstemp(prefix=UNFINISHED, dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as out:
            _copy(data, out)
            out.flush()
            os.fchmod(out.fileno(), READ_ONLY)
            os.fsync(out.fileno())
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    _sync_folder(path.parent)


def open_bytes(sha256: str, variant: str = ORIGINAL, *, shelf: str = "photos") -> bytes:
    """The bytes, or Missing. They are not compared with the digest here; `is_sound` does that."""
    try:
        return _path(sha256, variant, shelf).read_bytes()
    except FileNotFoundError:
        raise Missing(f"{shelf} {sha256} ({variant}) is not in the store.") from None


def has(sha256: str, variant: str = ORIGINAL, *, shelf: str = "photos") -> bool:
    return _path(sha256, variant, shelf).exists()


def is_sound(sha256: str, variant: str = ORIGINAL, *, shelf: str = "photos", wanted: str = "") -> bool:
    """Whether the bytes kept still have their digest; `wanted` is the digest a smaller size was made with."""
    path = _path(sha256, variant, shelf)
    return path.exists() and digest_of(path) == (wanted or sha256)


def walk(shelf: str = "photos") -> Iterator[tuple[str, str]]:
    """(digest, variant) of everything on a shelf, in order of digest."""
    for folder in sorted(_root(shelf).glob("[0-9a-f][0-9a-f]")):
        for file in sorted(folder.iterdir()):
            digest, _, variant = file.name.partition(".")
            if _DIGEST.fullmatch(digest):
                yield digest, variant or ORIGINAL


def put_pdf(data: bytes) -> str:
    """Keep a printed paper; its digest."""
    digest = digest_of(data)
    put(data, digest, shelf="papers")
    return digest


def open_pdf(sha256: str) -> bytes:
    return open_bytes(sha256, shelf="papers")


def forget(sha256: str, *, shelf: str = "photos") -> None:
    """Take bytes away in every size: for erasing what is about a person. Nothing else removes from a shelf."""
    for variant in SHELVES[shelf]:
        _path(sha256, variant, shelf).unlink(missing_ok=True)


def sweep(before: float) -> int:
    """Drop what a killed process left half-written before this POSIX time; how many files that were."""
    dropped = 0
    for shelf in SHELVES:
        for file in _root(shelf).glob(f"[0-9a-f][0-9a-f]/{UNFINISHED}*"):
            if file.stat().st_mtime < before:
                file.unlink(missing_ok=True)
                dropped += 1
    return dropped


def _root(shelf: str) -> Path:
    return settings.SHOP_DATA / shelf


def _path(sha256: str, variant: str, shelf: str) -> Path:
    if not _DIGEST.fullmatch(sha256):
        raise ValueError("A digest has 64 hexadecimal digits.")
    if variant not in SHELVES[shelf]:
        raise ValueError(f"The shelf {shelf} keeps no {variant}.")
    name = sha256 if variant == ORIGINAL else f"{sha256}.{variant}"
    return _root(shelf) / sha256[:2] / name


def _copy(data: bytes | Path, out) -> None:
    if isinstance(data, bytes):
        out.write(data)
        return
    with data.open("rb") as file:
        while piece := file.read(_PIECE):
            out.write(piece)


def _make_folder(folder: Path) -> None:
    """A new folder is only there after a power cut when its parent was flushed as well."""
    if folder.exists():
        return
    _make_folder(folder.parent)
    folder.mkdir(exist_ok=True)
    _sync_folder(folder.parent)


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
