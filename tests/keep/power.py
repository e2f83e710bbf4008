"""Power cuts, simulated above the disk: what was synced is there, what was written after it is there in pieces.

After every commit both files are looked at as the disk is bound to hold them: with `synchronous = FULL` the write-ahead
log is flushed before anybody is answered. A cut during the next commit leaves each sector written since old or new,
at random. Pages of the database itself are written only by a checkpoint, after the log that holds them was flushed.
It trusts the disk to flush when it is told to: one that lies about that defeats every program.
"""

import random
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from django.db import connection

from shop.record.models import Book

SECTOR = 512
PAGES_TO_A_CHECKPOINT = 24


@dataclass(frozen=True)
class Moment:
    """Both files right after a commit was answered, and the book as it was then."""

    database: bytes
    log: bytes
    length: int
    head: str


def look(data: Path, book: int) -> Moment:
    told = Book.objects.get(pk=book)
    log = data / "shop.sqlite3-wal"
    return Moment(
        (data / "shop.sqlite3").read_bytes(),
        log.read_bytes() if log.exists() else b"",
        told.length,
        told.head,
    )


def checkpoint_often() -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA wal_autocheckpoint = {PAGES_TO_A_CHECKPOINT}")


def cut(before: Moment, after: Moment, chance: random.Random) -> tuple[bytes, bytes]:
    """Both files after a cut between two answers: (database, log)."""
    if before.database == after.database or chance.random() < 0.5:
        return before.database, torn(before.log, after.log, chance)
    # The log was flushed whole before the first page of the database was written.
    return torn(before.database, after.database, chance), after.log


def torn(old: bytes, new: bytes, chance: random.Random) -> bytes:
    """Old bytes with a random part of the sectors that were written since."""
    share = chance.random()
    length = chance.choice(
        (len(old), len(new), chance.randrange(min(len(old), len(new)), max(len(old), len(new)) + 1))
    )
    out = bytearray(length)
    for at in range(0, length, SECTOR):
        piece = slice(at, min(at + SECTOR, length))
        has_old, has_new = at < len(old), at < len(new)
        take_new = has_new and (not has_old or chance.random() < share)
        source = new[piece] if take_new else old[piece] if has_old else b""
        if take_new and not has_old and chance.random() > share:
            source = b""  # the file was made longer, and these bytes never reached it
        out[piece] = source.ljust(piece.stop - piece.start, b"\0")
    return bytes(out)


def recovered(files: tuple[bytes, bytes], folder: Path, book: int) -> tuple[str, int, str]:
    """What SQLite makes of such files when the machine is on again: (integrity, length, head)."""
    database, log = files
    (folder / "cut.sqlite3").write_bytes(database)
    (folder / "cut.sqlite3-wal").write_bytes(log)
    (folder / "cut.sqlite3-shm").unlink(missing_ok=True)
    with closing(connection.Database.connect(folder / "cut.sqlite3")) as found:
        integrity = found.execute("PRAGMA integrity_check").fetchone()[0]
        length, head = found.execute("SELECT length, head FROM shop_book WHERE id = ?", [book]).fetchone()
        last = found.execute(
            "SELECT count(*), max(number) FROM shop_entry WHERE book_id = ?", [book]
        ).fetchone()
    return (integrity if last == (length, length) else f"book says {length}, entries {last}"), length, head


@dataclass
class Told:
    cuts: int = 0
    kept_the_last: int = 0
    with_checkpoint: int = 0


def cut_while_working(opened, folder: Path, write, *, book: int, cuts: int, seed: int) -> Told:
    """`write(n)` commits once; between every two of its commits the power goes, several times over."""
    chance, told = random.Random(seed), Told()
    checkpoint_often()
    before, n = look(opened.data, book), 0
    while told.cuts < cuts:
        n += 1
        write(n)
        after = look(opened.data, book)
        for _ in range(5):
            integrity, length, head = recovered(cut(before, after, chance), folder, book)
            assert integrity == "ok", f"commit {n}: {integrity}"
            assert (length, head) in ((before.length, before.head), (after.length, after.head)), (
                f"commit {n} lost"
            )
            told.cuts += 1
            told.kept_the_last += head == after.head
            told.with_checkpoint += before.database != after.database
        before = after
    return told
