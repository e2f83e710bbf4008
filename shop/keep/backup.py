"""Making a backup while the shop is served: the database first, then files, then the manifest.

The order matters. Files are named by their digest and only ever added, so a copy made after the database holds
every file the database names, and whatever came since does no harm.
"""

import json
import logging
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, tzinfo
from hashlib import sha256
from pathlib import Path

from django.conf import settings

from shop import store
from shop.keep import database, erased, heads, program, sealed, state
from shop.keep.place import FILES, KEYS, File, Kept, Place
from shop.keep.rules import Rules, staying
from shop.keep.writing import sync_folder, write_whole
from shop.photos.models import Photo
from shop.warranty.models import Revision

log = logging.getLogger("shop")

Progress = Callable[[int, int], None]


@dataclass
class Made:
    """What a run did. `wrong` are sentences: a backup with any of them is kept, and somebody has to look."""

    kept: Kept
    copied: int = 0
    there: int = 0
    dropped: int = 0
    wrong: list[str] = field(default_factory=list)


def back_up(
    root: Path,
    *,
    now: datetime,
    passphrase: str = "",
    rules: Rules | None = None,
    zone: tzinfo = UTC,
    progress: Progress | None = None,
) -> Made:
    """One backup in this place. Busy, Unfit or OSError where none could be made; then the place is as before."""
    place = Place(root)
    place.make()
    with place.alone():
        place.clear()
        before = place.good()
        folder = place.begin()
        try:
            made = _make(place, folder, before, now, passphrase, progress)
        except BaseException:
            shutil.rmtree(folder, ignore_errors=True)
            raise
        if rules:
            made.dropped = _prune(place, rules, zone)
    _remember(root, made, now)
    return made


def _make(
    place: Place, folder: Path, before: list[Kept], now: datetime, passphrase: str, progress: Progress | None
) -> Made:
    erased.finish_all()
    copied = database.copy_to(folder)
    shelf = _Shelf(place, before)
    files = shelf.bring(progress)
    listed = json.dumps({"files": [[f.shelf, f.sha256, f.variant, f.size, f.digest] for f in files]}).encode()
    write_whole(folder / FILES, listed)
    manifest = {
        "made_at": now.astimezone(UTC).isoformat(),
        "program": {"version": program.version(), "revision": program.revision()},
        "database": {
            "file": copied.file.name,
            "engine": copied.engine,
            "size": copied.file.stat().st_size,
            "sha256": store.digest_of(copied.file),
        },
        "counts": copied.counts,
        "migrations": copied.migrations,
        "books": [
            {"book": pk, "workshop": shop, "job": job, "length": length, "head": head}
            for pk, shop, job, length, head in copied.books
        ],
        "files": {
            "sha256": sha256(listed).hexdigest(),
            "count": len(files),
            "bytes": sum(f.size for f in files),
        },
        "keys": _keys(folder, passphrase),
        "wrong": shelf.wrong,
    }
    sync_folder(folder)
    kept = place.finish(folder, manifest)
    return Made(kept, shelf.copied, shelf.there, wrong=shelf.wrong)


def _keys(folder: Path, passphrase: str) -> dict[str, object]:
    """Which keys belong to this shop, each with a print of it to tell it by; the keys themselves only sealed."""
    found = keys_here()
    if passphrase:
        write_whole(folder / KEYS, sealed.seal(found, passphrase))
    return {
        "sealed": bool(passphrase),
        "prints": {name: key_print(name, data) for name, data in found.items()},
    }


def keys_here() -> dict[str, bytes]:
    folder = settings.SHOP_DATA / "keys"
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir()) if path.is_file()}


def key_print(name: str, data: bytes) -> str:
    """Tells two keys apart and gives neither away: the keys are too long to be guessed from it."""
    return sha256(b"bayproof key " + name.encode() + b"\n" + data.strip()).hexdigest()[:16]


class _Shelf:
    """Brings the store's files into a place, those that are not there yet in good order."""

    def __init__(self, place: Place, before: list[Kept]) -> None:
        self.place = place
        self.known = _listed_before(before)
        self.copied = self.there = 0
        self.wrong: list[str] = []

    def bring(self, progress: Progress | None) -> list[File]:
        wanted = sorted(_in_the_store() | _named_by_rows())
        made_with = dict(_sizes_made())
        found = []
        for done, (shelf, digest, variant) in enumerate(wanted, start=1):
            expected = digest if variant == store.ORIGINAL else made_with.get((digest, variant), "")
            file = self._one(shelf, digest, variant, expected)
            if file:
                found.append(file)
            if progress:
                progress(done, len(wanted))
        return found

    def _one(self, shelf: str, digest: str, variant: str, expected: str) -> File | None:
        """The file as it now stands in the place; None, with a sentence, where no good copy is to be had."""
        known = self.known.get((shelf, digest, variant))
        wanted = expected or (known.digest if known else "")
        there = self.place.path(File(shelf, digest, variant, 0, ""))
        if wanted and (size := _size_if_good(there, wanted)) is not None:
            self.there += 1
            return File(shelf, digest, variant, size, wanted)
        try:
            data = store.open_bytes(digest, variant, shelf=shelf)
        except store.Missing:
            self.wrong.append(f"{_named(shelf, digest, variant)} is missing, here and in the backups before.")
            return None
        own = store.digest_of(data)
        if expected and own != expected:
            self.wrong.append(
                f"{_named(shelf, digest, variant)} was changed: its bytes are not the ones taken in."
            )
            return None
        write_whole(there, data, mode=0o440)
        self.copied += 1
        return File(shelf, digest, variant, len(data), own)


def _size_if_good(path: Path, digest: str) -> int | None:
    """Its size where the file is there with these bytes. Read whole each time: a backup rots unseen otherwise."""
    if not path.is_file():
        return None
    return path.stat().st_size if store.digest_of(path) == digest else None


def _listed_before(before: list[Kept]) -> dict[tuple[str, str, str], File]:
    for kept in reversed(before):
        try:
            return {(file.shelf, file.sha256, file.variant): file for file in kept.files()}
        except (OSError, ValueError):
            log.warning("backup %s has no readable list of files", kept.folder.name)
    return {}


def _in_the_store() -> set[tuple[str, str, str]]:
    return {(shelf, digest, variant) for shelf in store.SHELVES for digest, variant in store.walk(shelf)}


def _named_by_rows() -> set[tuple[str, str, str]]:
    """What rows name has to be there, except what was erased."""
    photos = Photo.objects.values_list("sha256", flat=True)
    papers = Revision.objects.exclude(pdf_sha256="").values_list("pdf_sha256", flat=True)
    gone = erased.files()
    named = {("photos", digest) for digest in photos} | {("papers", digest) for digest in papers}
    return {(shelf, digest, store.ORIGINAL) for shelf, digest in named - gone}


def _sizes_made() -> Iterator[tuple[tuple[str, str], str]]:
    for digest, verdict in Photo.objects.values_list("sha256", "verdict").iterator():
        for variant in (store.SCREEN, store.PRINT):
            if verdict.get(variant):
                yield (digest, variant), verdict[variant]


def _named(shelf: str, digest: str, variant: str) -> str:
    what = {"photos": "Photo", "papers": "Paper"}.get(shelf, shelf)
    return f"{what} {digest[:12]}" + ("" if variant == store.ORIGINAL else f" ({variant} size)")


def _prune(place: Place, rules: Rules, zone: tzinfo) -> int:
    good = place.good()
    stay = staying((kept.made_at for kept in good), rules, zone)
    gone = [kept for kept in good if kept.made_at not in stay]
    for kept in gone:
        place.drop(kept)
    place.sweep()
    return len(gone)


def _remember(root: Path, made: Made, now: datetime) -> None:
    kept, day = made.kept, f"{now.astimezone(UTC):%Y-%m-%d %H:%M}"
    heads.note(
        heads.Head(book["book"], book["length"], book["head"], f"backup of {day} UTC")
        for book in kept.manifest["books"]
    )
    places = state.read(state.BACKUP).get("places", [])
    state.note(
        state.BACKUP,
        at=now,
        place=str(root),
        name=kept.folder.name,
        sealed=kept.manifest["keys"]["sealed"],
        same_disk=_same_disk(root),
        wrong=len(made.wrong),
        failed_at=None,
        why="",
        places=sorted({*places, str(root)}),
    )


def _same_disk(root: Path) -> bool:
    return root.stat().st_dev == settings.SHOP_DATA.stat().st_dev
