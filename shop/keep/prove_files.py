"""Bytes: every photo with the sizes made of it, every printed paper, hashed again."""

from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

from shop import store
from shop.keep import erased
from shop.keep.checks import Check, Tell
from shop.photos.models import Photo
from shop.warranty.models import Revision

# Hashing leaves Python, so that two cores read at once.
READERS = 2
VARIANTS = (store.ORIGINAL, store.SCREEN, store.PRINT)
Wanted = tuple[Any, str, str, str, str]


def photos(tell: Tell) -> Check:
    check = Check("photos")
    for (row, variant, sha256, _, _), state in _read(_photo_files(), check, tell):
        what = "photo" if variant == store.ORIGINAL else f"photo ({variant})"
        if state:
            check.add(what, row, f"The {what} {sha256[:12]} {state}.")
    return check


def _photo_files() -> Iterator[Wanted]:
    gone = {digest for shelf, digest in erased.files() if shelf == "photos"}
    rows = Photo.objects.order_by("pk").values_list("pk", "sha256", "verdict")
    for pk, sha256, verdict in rows.iterator(chunk_size=1000):
        if sha256 in gone:
            continue
        for variant in VARIANTS:
            made = verdict.get(variant, "") if isinstance(verdict, dict) else ""
            yield pk, variant, sha256, "photos", sha256 if variant == store.ORIGINAL else made


def papers(tell: Tell) -> Check:
    """Printed papers. One that waits to be printed has no bytes yet and is none of these."""
    check = Check("printed papers")
    for (name, _, sha256, _, _), state in _read(_paper_files(), check, tell):
        if state:
            check.add("paper", sha256[:12], f"The printed paper of {name} {state}.")
    return check


def _paper_files() -> Iterator[Wanted]:
    gone = {digest for shelf, digest in erased.files() if shelf == "papers"}
    printed = Revision.objects.exclude(pdf_sha256="").exclude(pdf_sha256__in=gone)
    for row in printed.select_related("certificate").order_by("pk"):
        name = f"certificate {row.certificate.number}, revision {row.n},"
        yield name, store.ORIGINAL, row.pdf_sha256, "papers", row.pdf_sha256


def _read(files: Iterable[Wanted], check: Check, tell: Tell) -> Iterator[tuple[Wanted, str]]:
    with ThreadPoolExecutor(READERS) as pool:
        yield from check.each(pool.map(_state, files), tell)


def _state(wanted: Wanted) -> tuple[Wanted, str]:
    """The file with what is wrong with it, as the end of a sentence. A size nobody noted a digest of must be there."""
    _, variant, sha256, shelf, digest = wanted
    if not store.has(sha256, variant, shelf=shelf):
        return wanted, "is not in the store"
    if digest and not store.is_sound(sha256, variant, shelf=shelf, wanted=digest):
        return wanted, "was changed in the store"
    return wanted, ""
