"""A photo's bytes, piece by piece: counted only when they are on the disk, kept only when all of them are right.

A piece is read from the network before the row is locked, so that a slow tablet holds nothing up. The file is cut
back to the counted length before writing: a server killed in between may have written more than it counted.
"""

import os
from datetime import datetime, timedelta

from django.db import transaction

from shop import store
from shop.offline import halves
from shop.photos import actions as photos
from shop.photos.models import Upload
from shop.reasons import Refused
from shop.work import actions as work

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
    if halves.here(row) < row.received:
        # Swept away, or the machine was put back from a backup that holds no halves: begin again.
        row.received = 0
    fits = offset == row.received and offset + len(piece) <= row.size
    if fits:
        halves.write(row, offset, piece, now)
        row.received = offset + len(piece)
    row.save(update_fields=["received"])
    return row, fits


def _finish(row: Upload, now: datetime) -> Upload:
    """Look at the whole outside any transaction; keeping it and telling the job is one.

    One at a time: a tablet that lost patience may ask for the same a second time.
    """
    with halves.whole(row) as file:
        row = Upload.objects.select_related("workshop").get(pk=row.pk)
        if row.photo_id or row.refused or row.received < row.size:
            return row
        if store.digest_of(file) != row.sha256:
            row = _begin_again(row)
            if row.photo_id or row.refused:
                return row
            raise WrongBytes(row)
        try:
            found = photos.examine(file, name=row.name)
        except Refused as refused:
            _refuse(row, refused, now)
            raise
        row = _keep(row, found, now)
        halves.drop(row)
    sweep_at_times(now)
    return row


@transaction.atomic
def _keep(row: Upload, found: photos.Examined, now: datetime) -> Upload:
    """The row as it then is. Another machine may have taken the same last piece and kept it meanwhile."""
    row = _locked(row)
    if row.photo_id or row.refused:
        return row
    row.photo = photos.shelve(
        found, workshop=row.workshop, by=None, now=now, job=row.job, pressed_at=row.pressed_at
    )
    row.save(update_fields=["photo"])
    work.photo_arrived(upload=row, photo=row.photo, now=now)
    return row


@transaction.atomic
def _refuse(row: Upload, refused: Refused, now: datetime) -> None:
    row = _locked(row)
    if row.photo_id or row.refused:
        return
    row.refused = " ".join(reason.text for reason in refused.reasons)
    row.refused_code = refused.reasons[0].code
    row.received = 0
    row.save(update_fields=["refused", "refused_code", "received"])
    work.photo_arrived(upload=row, photo=None, refused=row.refused, now=now)
    halves.drop(row)


@transaction.atomic
def _begin_again(row: Upload) -> Upload:
    row = _locked(row)
    if not (row.photo_id or row.refused):
        row.received = 0
        row.save(update_fields=["received"])
        halves.drop(row)
    return row


def _locked(row: Upload) -> Upload:
    return (
        Upload.objects.select_for_update(of=("self",), no_key=True).select_related("workshop").get(pk=row.pk)
    )


def sweep_at_times(now: datetime) -> None:
    """Sweep when it was not done for an hour. There is no other process whose task it could be."""
    mark = halves.folder() / "swept"
    if mark.exists() and now.timestamp() - mark.stat().st_mtime < SWEPT_EVERY.total_seconds():
        return
    mark.touch()
    os.utime(mark, (now.timestamp(), now.timestamp()))
    halves.sweep(now)
