"""Where the bytes of a photo wait until all of them are in: a file that grows, or pieces in the bucket.

With a bucket no tablet has to come back to the machine it began with: each piece is an object of its own, called by
where it begins, and the whole is put together by whichever machine takes the last one.
"""

import contextlib
import fcntl
import os
import tempfile
import uuid
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings

from shop import bucket, store
from shop.photos.models import Upload

KEPT_FOR = timedelta(days=7)
LEFT_FOR = timedelta(hours=1)
SHELF = "incoming"


def here(row: Upload) -> int:
    """How many of the counted bytes are here. Fewer than counted: swept away, or put back from a backup."""
    if settings.SHOP_STORE:
        return row.received
    file = part(row)
    return min(row.received, file.stat().st_size if file.exists() else 0)


def write(row: Upload, offset: int, piece: bytes, now: datetime) -> None:
    """Durable when it returns. What stood from `offset` on is void: a killed server may have written, not counted."""
    if settings.SHOP_STORE:
        if piece:
            bucket.note(_address(row, offset), piece)
        return
    handle = os.open(part(row), os.O_RDWR | os.O_CREAT, 0o600)
    with os.fdopen(handle, "r+b") as out:
        out.truncate(offset)
        out.seek(offset)
        out.write(piece)
        out.flush()
        os.fsync(out.fileno())
    # Its age is told by the shop's clock, like that of everything else.
    os.utime(part(row), (now.timestamp(), now.timestamp()))


@contextlib.contextmanager
def whole(row: Upload) -> Iterator[Path]:
    """A file of all bytes. In a folder one process at a time holds it, and a killed one lets go of it."""
    if not settings.SHOP_STORE:
        with alone(part(row)):
            yield part(row)
        return
    with tempfile.NamedTemporaryFile(dir=settings.FILE_UPLOAD_TEMP_DIR, suffix=".photo") as file:
        for data in _pieces(row):
            file.write(data)
        file.flush()
        yield Path(file.name)


def drop(row: Upload) -> None:
    if settings.SHOP_STORE:
        bucket.forget(f"{SHELF}/{row.pk}/{name}" for name in list(bucket.names(f"{SHELF}/{row.pk}")))
    else:
        part(row).unlink(missing_ok=True)


def sweep(now: datetime) -> int:
    """Drop halves nobody will finish: an hour after their upload ended, seven days after the last piece otherwise.

    The tablet still has the bytes and begins again when it comes back. Returns how many files went.
    """
    dropped = store.sweep((now - LEFT_FOR).timestamp())
    if settings.SHOP_STORE:
        dropped += _sweep_bucket(now)
    for file in folder().glob("*.part"):
        if _age(file, now) > (KEPT_FOR if _is_waited_for(file.stem) else LEFT_FOR):
            file.unlink(missing_ok=True)
            dropped += 1
    for pattern in ("*.upload*", "*.photo"):
        for file in settings.FILE_UPLOAD_TEMP_DIR.glob(pattern):
            if _age(file, now) > LEFT_FOR:
                file.unlink(missing_ok=True)
                dropped += 1
    return dropped


def part(row: Upload) -> Path:
    return folder() / f"{row.pk}.part"


def folder() -> Path:
    found = settings.SHOP_DATA / SHELF / "parts"
    found.mkdir(parents=True, exist_ok=True)
    return found


@contextlib.contextmanager
def alone(file: Path) -> Iterator[None]:
    """Held by one process at a time, and let go of when that one is killed."""
    with open(file, "ab") as handle:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield


def _pieces(row: Upload) -> Iterator[bytes]:
    """One after the other as far as they follow on each other; an object at another place was never counted."""
    at = 0
    while at < row.received and (data := bucket.read(_address(row, at))):
        data = data[: row.received - at]
        at += len(data)
        yield data


def _address(row: Upload, offset: int) -> str:
    return f"{SHELF}/{row.pk}/{offset:012d}"


def _sweep_bucket(now: datetime) -> int:
    gone = [
        address
        for address in bucket.older(SHELF, (now - LEFT_FOR).timestamp())
        if not _is_waited_for(address.split("/")[1])
    ]
    gone += bucket.older(SHELF, (now - KEPT_FOR).timestamp())
    bucket.forget(sorted(set(gone)))
    return len(set(gone))


def _age(file: Path, now: datetime) -> timedelta:
    return now - datetime.fromtimestamp(file.stat().st_mtime, now.tzinfo)


def _is_waited_for(name: str) -> bool:
    try:
        return Upload.objects.waiting().filter(pk=uuid.UUID(name)).exists()
    except ValueError:
        return False
