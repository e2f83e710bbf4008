"""Bytes kept under their SHA-256: photos with the sizes made of them, and printed papers.

An address is decided by the digest, once, and never changes; no name a person chose is ever part of it. Callers
know digests and variants only: behind these functions stands the shop's folder, or a bucket where `SHOP_STORE`
names one.
"""

import re
from collections.abc import Iterator
from hashlib import sha256 as new_sha256
from pathlib import Path

from django.conf import settings

from shop import bucket, folder
from shop.bucket import Unreachable

__all__ = ["ORIGINAL", "PRINT", "SCREEN", "SHELVES", "Missing", "Unreachable"]

ORIGINAL, SCREEN, PRINT = "original", "screen", "print"
SHELVES = {"photos": (ORIGINAL, SCREEN, PRINT), "papers": (ORIGINAL,)}
_DIGEST = re.compile(r"[0-9a-f]{64}")


class Missing(LookupError):
    """Nothing is kept under this digest; the text names digest and variant."""


def digest_of(data: bytes | Path) -> str:
    """SHA-256 of bytes or of a file, in hexadecimal."""
    return new_sha256(data).hexdigest() if isinstance(data, bytes) else folder.digest_of_file(data)


def put(data: bytes | Path, sha256: str, variant: str = ORIGINAL, *, shelf: str = "photos") -> None:
    """Keep these bytes, durable when this returns. The same bytes again change nothing.

    Damaged bytes under this digest are replaced. ValueError when an original does not have the digest it is
    put under; a smaller size stands under the digest of the photo it was made of. Unreachable: the bucket is.
    """
    address = address_of(sha256, variant, shelf)
    own = digest_of(data)
    if variant == ORIGINAL and own != sha256:
        raise ValueError(f"These bytes have the digest {own}, not {sha256}.")
    _where().put(address, data, own)


def open_bytes(sha256: str, variant: str = ORIGINAL, *, shelf: str = "photos") -> bytes:
    """The bytes, or Missing. They are not compared with the digest here; `is_sound` does that."""
    data = _where().read(address_of(sha256, variant, shelf))
    if data is None:
        raise Missing(f"{shelf} {sha256} ({variant}) is not in the store.")
    return data


def has(sha256: str, variant: str = ORIGINAL, *, shelf: str = "photos") -> bool:
    return _where().has(address_of(sha256, variant, shelf))


def is_sound(sha256: str, variant: str = ORIGINAL, *, shelf: str = "photos", wanted: str = "") -> bool:
    """Whether the bytes kept still have their digest; `wanted` is the digest a smaller size was made with."""
    return _where().digest(address_of(sha256, variant, shelf)) == (wanted or sha256)


def walk(shelf: str = "photos") -> Iterator[tuple[str, str]]:
    """(digest, variant) of everything on a shelf, in order of digest."""
    for name in _where().names(shelf):
        digest, _, variant = name.partition(".")
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
    _where().forget([address_of(sha256, variant, shelf) for variant in SHELVES[shelf]])


def sweep(before: float) -> int:
    """Drop what a killed process left half-written before this POSIX time; how many files that were."""
    return sum(_where().sweep(shelf, before) for shelf in SHELVES)


def note(name: str, data: bytes) -> None:
    """A small file of what the shop remembers beside its rows; it changes, and all machines see the same."""
    _where().note(f"keep/{name}", data)


def noted(name: str) -> bytes | None:
    return _where().read(f"keep/{name}")


def reach() -> None:
    """Nothing, or Unreachable where the bucket does not answer."""
    _where().reach()


def in_words() -> str:
    """Where the bytes are, for the owner."""
    return f"the bucket {settings.SHOP_STORE}" if settings.SHOP_STORE else f"{settings.SHOP_DATA}"


def address_of(sha256: str, variant: str, shelf: str) -> str:
    if not _DIGEST.fullmatch(sha256):
        raise ValueError("A digest has 64 hexadecimal digits.")
    if variant not in SHELVES[shelf]:
        raise ValueError(f"The shelf {shelf} keeps no {variant}.")
    name = sha256 if variant == ORIGINAL else f"{sha256}.{variant}"
    return f"{shelf}/{sha256[:2]}/{name}"


def _where():
    return bucket if settings.SHOP_STORE else folder
