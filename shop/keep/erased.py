"""What was erased, as the books say: the one place that proof, backup and pages ask."""

import json
import logging
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import OperationalError, connection

from shop import store
from shop.keep import state
from shop.photos.models import Photo
from shop.record.models import Entry

VERB = "erase_customer"
log = logging.getLogger("shop")


@dataclass(frozen=True)
class Erasure:
    """One entry that erased: who was erased, by whom and when, and what went."""

    entry: Entry
    body: dict[str, Any]

    @property
    def at(self) -> datetime:
        return self.entry.received_at

    @property
    def files(self) -> set[tuple[str, str]]:
        """(shelf, digest) of all bytes that went."""
        photos = {("photos", digest) for digest in self.body["photos"]}
        return photos | {("papers", digest) for digest in self.body["papers"]}

    @property
    def text(self) -> str:
        who = self.entry.person.name if self.entry.person else "nobody"
        counts = f"{len(self.body['values'])} values, {len(self.files)} files"
        return (
            f"Customer {self.body['customer']} was erased on {self.at:%Y-%m-%d} by {who} "
            f"({self.body['why']}): {counts}. Entry {self.entry.number} of the workshop's book."
        )


def erasures(workshop=None) -> list[Erasure]:
    """All of them, oldest first. Only the books of workshops hold any, and those are short."""
    rows = Entry.objects.filter(verb=VERB, book__job__isnull=True).select_related("person", "book")
    if workshop is not None:
        rows = rows.filter(book__workshop=workshop)
    return [Erasure(row, json.loads(row.body)) for row in rows.order_by("pk")]


def files(workshop=None) -> set[tuple[str, str]]:
    return {one for erasure in erasures(workshop) for one in erasure.files}


def finish(erasure: Erasure) -> int:
    """Take away the bytes an erasure names, as far as they are still there; how many files that were.

    Called after its commit, and again by every backup: a machine that stopped in between must not keep them.
    """
    gone = 0
    for shelf, digest in sorted(erasure.files):
        if stays(shelf, digest, erasure):
            continue
        there = sum(store.has(digest, variant, shelf=shelf) for variant in store.SHELVES[shelf])
        if there:
            store.forget(digest, shelf=shelf)
        gone += there
    return gone


def finish_all() -> int:
    """Every erasure finished, its bytes and its traces; how many files went."""
    gone = sum(map(finish, erasures()))
    if state.read(state.TRACES).get("left"):
        _rub_out()
    return gone


def _rub_out() -> None:
    """SQLite leaves text that was deleted, now or long ago, in free parts of its file, for any editor to read.

    Written anew it has none. On a busy shop this may have to wait for the next backup.
    """
    try:
        with connection.cursor() as cursor:
            cursor.execute("VACUUM")
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    except OperationalError:
        log.warning("the database was too busy to be written anew after erasing")
        return
    state.note(state.TRACES, left=False)


def stays(shelf: str, digest: str, erasure: Erasure) -> bool:
    """Whether another workshop on this machine has a photo of the same bytes, and has not erased it."""
    if shelf != "photos":
        return False
    others = Photo.objects.filter(sha256=digest).exclude(workshop=erasure.entry.book.workshop_id)
    return any((shelf, digest) not in files(other) for other in others.values_list("workshop", flat=True))
