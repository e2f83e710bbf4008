"""A photo's bytes, piece by piece: counted only when they are on the disk, kept only when all of them are right.

A piece is read from the network before the row is locked, so that a slow tablet holds nothing up. The file is cut
back to the counted length before writing: a server killed in between may have written more than it counted.
"""

import contextlib
import fcntl
import os
import uuid
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.db import transaction

from shop import store
from shop.photos import actions as photos
from shop.photos.models import Upload
from shop.reasons import Refused
from shop.work import actions as work

KEPT_FOR = timedelta(days=7)
LEFT_FOR = timedelta(hours=1)
SWEPT_EVERY = timedelta(hours=1)


class WrongOffset(Exception):
    """The piece does not follow on what is here; `row` says what is."""

    def __init__(self, row: Upload) -> None:
        super().__init__(row.received)
        self.row = row


class WrongBytes(Exception):
    """All bytes are in and they are not the ones that were promised. They are dropped and may be sent again."""

    def __init__(self, row: Upload) -> None:
        super().__init__("The photo did not arrive as it was taken. It is sent again.")
        self.row = row


def part(row: Upload) -> Path:
    return _folder() / f"{row.pk}.part"


def add(row: Upload, offset: int, piece: bytes, *, now: datetime) -> Upload:
    """Add a piece, and finish when it was the last one. An empty piece at the end finishes as well.

    Refused when the whole is no photo that can be kept; that is remembered and told again.
    """
    row, fits = _append(row, offset, piece, now)
    if row.refused or row.photo_id:
        return row
    if not fits:
        raise WrongOffset(row)
    return _finish(row, now) if row.received == row.size else row


@transaction.atomic
def _append(row: Upload, offset: int, piece: bytes, now: datetime) -> tuple[Upload, bool]:
    row = _locked(row)
    if row.refused or row.photo_id:
        return row, True
    file = part(row)
    here = file.stat().st_size if file.exists() else 0
    if here < row.received:
        # Swept away, or the machine was put back from a backup that holds no halves: begin again.
        row.received = 0
    fits = offset == row.received and offset + len(piece) <= row.size
    if fits:
        _write(file, offset, piece, now)
        row.received = offset + len(piece)
    row.save(update_fields=["received"])
    return row, fits


def _finish(row: Upload, now: datetime) -> Upload:
    """Look at the whole outside any transaction; keeping it and telling the job is one.

    One at a time: a tablet that lost patience may ask for the same a second time.
    """
    with _alone(part(row)):
        row = Upload.objects.select_related("workshop").get(pk=row.pk)
        if row.photo_id or row.refused or row.received < row.size:
            return row
        if store.digest_of(part(row)) != row.sha256:
            _drop(row)
            raise WrongBytes(row)
        try:
            found = photos.examine(part(row), name=row.name)
        except Refused as refused:
            _refuse(row, refused, now)
            raise
        _keep(row, found, now)
        part(row).unlink(missing_ok=True)
    sweep_at_times(now)
    return row


@transaction.atomic
def _keep(row: Upload, found: photos.Examined, now: datetime) -> None:
    row.photo = photos.shelve(
        found, workshop=row.workshop, by=None, now=now, job=row.job, pressed_at=row.pressed_at
    )
    row.save(update_fields=["photo"])
    work.photo_arrived(upload=row, photo=row.photo, now=now)


@transaction.atomic
def _refuse(row: Upload, refused: Refused, now: datetime) -> None:
    row.refused = " ".join(reason.text for reason in refused.reasons)
    row.refused_code = refused.reasons[0].code
    row.save(update_fields=["refused", "refused_code"])
    work.photo_arrived(upload=row, photo=None, refused=row.refused, now=now)
    _drop(row)


def _drop(row: Upload) -> None:
    row.received = 0
    row.save(update_fields=["received"])
    part(row).unlink(missing_ok=True)


def _locked(row: Upload) -> Upload:
    return Upload.objects.select_for_update(of=("self",)).select_related("workshop").get(pk=row.pk)


def _write(file: Path, offset: int, piece: bytes, now: datetime) -> None:
    handle = os.open(file, os.O_RDWR | os.O_CREAT, 0o600)
    with os.fdopen(handle, "r+b") as out:
        out.truncate(offset)
        out.seek(offset)
        out.write(piece)
        out.flush()
        os.fsync(out.fileno())
    # Its age is told by the shop's clock, like that of everything else.
    os.utime(file, (now.timestamp(), now.timestamp()))


@contextlib.contextmanager
def _alone(file: Path) -> Iterator[None]:
    """Held by one process at a time, and let go of when that one is killed."""
    with open(file, "ab") as handle:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield


def sweep(now: datetime) -> int:
    """Drop halves nobody will finish: an hour after their upload ended, seven days after the last piece otherwise.

    The tablet still has the bytes and begins again when it comes back. Returns how many files went.
    """
    dropped = store.sweep((now - LEFT_FOR).timestamp())
    for file in _folder().glob("*.part"):
        age = now - datetime.fromtimestamp(file.stat().st_mtime, now.tzinfo)
        if age > (KEPT_FOR if _is_waited_for(file.stem) else LEFT_FOR):
            file.unlink(missing_ok=True)
            dropped += 1
    for pattern in ("*.upload*", "*.photo"):
        for file in settings.FILE_UPLOAD_TEMP_DIR.glob(pattern):
            if now - datetime.fromtimestamp(file.stat().st_mtime, now.tzinfo) > LEFT_FOR:
                file.unlink(missing_ok=True)
                dropped += 1
    return dropped


def sweep_at_times(now: datetime) -> None:
    """Sweep when it was not done for an hour. There is no other process whose task it could be."""
    mark = _folder() / "swept"
    if mark.exists() and now.timestamp() - mark.stat().st_mtime < SWEPT_EVERY.total_seconds():
        return
    mark.touch()
    os.utime(mark, (now.timestamp(), now.timestamp()))
    sweep(now)


def _is_waited_for(name: str) -> bool:
    try:
        return Upload.objects.waiting().filter(pk=uuid.UUID(name)).exists()
    except ValueError:
        return False


def _folder() -> Path:
    folder = settings.SHOP_DATA / "incoming" / "parts"
    folder.mkdir(parents=True, exist_ok=True)
    return folder
