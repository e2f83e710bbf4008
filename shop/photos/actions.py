"""Taking a photo in: looked at in the press first, kept only when it can be shown, and then never touched again.

`examine` keeps nothing and may take a second: call it before the act's own transaction. `shelve` is quick and
belongs inside it, so that a refused act leaves no row. `keep` is both, for bytes that stand on their own.
"""

import re
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import IntegrityError, transaction

from shop import press, store
from shop.people.identity import By
from shop.photos import codes, decode, remarks, sniff
from shop.photos.models import Photo
from shop.reasons import Reason, Refused

MOST_BYTES = sniff.MOST_BYTES
SHORTER_SIDE = 800
PRESS_S = 15
_NAMES = {"jpg": "jpeg", "jpeg": "jpeg", "jpe": "jpeg", "jfif": "jpeg", "mpo": "jpeg", "png": "png",
          "webp": "webp", "heic": "heif", "heif": "heif"}  # fmt: skip
_UNSEEN = re.compile(r"[\x00-\x1f\x7f\u200e\u200f\u202a-\u202e\u2066-\u2069]")


@dataclass(frozen=True)
class Examined:
    """A photo that can be kept: its bytes in a file, what they are, and what was made of them.

    `hold` is the temporary file the bytes stand in, if they came without one; it goes when this goes.
    """

    file: Path
    sha256: str
    size: int
    kind: str
    named: str
    decoded: decode.Decoded
    hold: Any = field(default=None, repr=False)


def keep(
    *,
    workshop,
    data: bytes | Path,
    name: str = "",
    by: By | None,
    now,
    klass: str = Photo.Klass.EVIDENCE,
    job=None,
    pressed_at=None,
) -> Photo:
    """The photo of these bytes, kept; the same row when this workshop has them already.

    Refused with `photo_unreadable`, `photo_small` or `photo_blank`. `name` is what the file was called, empty
    when it came without; `pressed_at` is when it was taken in on a tablet that was out of reach until `now`.
    The entry in the book belongs to the verb this photo is part of.
    """
    _own(workshop, by)
    return shelve(
        examine(data, name=name),
        workshop=workshop,
        by=by,
        now=now,
        klass=klass,
        job=job,
        pressed_at=pressed_at,
    )


def examine(data: bytes | Path, *, name: str = "") -> Examined:
    """Look at a photo without keeping anything. A file given by path has to stay until it is shelved."""
    named = _extension(name)
    hold = None if isinstance(data, Path) else _as_file(data)
    try:
        file = Path(hold.name) if hold else data
        size = file.stat().st_size
        header = _sniffed(file, size)
        decoded = _decoded(file, header.kind)
        reasons = _stops(decoded)
        if reasons:
            raise Refused(reasons)
        return Examined(file, store.digest_of(file), size, header.kind, named, decoded, hold)
    except BaseException:
        if hold:
            hold.close()
        raise


def shelve(
    found: Examined,
    *,
    workshop,
    by: By | None,
    now,
    klass: str = Photo.Klass.EVIDENCE,
    job=None,
    pressed_at=None,
) -> Photo:
    """Put bytes, sizes and row where they stay. Files of an act that is rolled back do no harm: nothing names them."""
    _own(workshop, by)
    store.put(found.file, found.sha256)
    store.put(found.decoded.screen, found.sha256, store.SCREEN)
    store.put(found.decoded.print, found.sha256, store.PRINT)
    there = Photo.objects.of(workshop).filter(sha256=found.sha256)
    photo = there.first()
    if photo is not None:
        return photo
    try:
        with transaction.atomic():
            return Photo.objects.create(
                workshop=workshop,
                sha256=found.sha256,
                size=found.size,
                type=found.kind,
                w=found.decoded.w,
                h=found.decoded.h,
                taken_text=found.decoded.taken,
                klass=klass,
                verdict=remarks.verdict(found, workshop=workshop, job=job, at=pressed_at or now),
                kept_at=now,
            )
    except IntegrityError:
        # The same bytes came twice at the same moment; the other one made the row.
        return there.get()


def _own(workshop, by: By | None) -> None:
    if by is not None and by.person.workshop_id != workshop.pk:
        raise Refused(Reason("other_workshop", "This photo belongs to another workshop."))


def unreadable(text: str) -> Refused:
    return Refused(Reason("photo_unreadable", text))


def _extension(name: str) -> str:
    """The ending of a file's name, which has to be one a photo may have. It is noted, never trusted."""
    if not name:
        return ""
    if _UNSEEN.search(name):
        raise unreadable("This file's name holds signs that cannot be seen. Rename it and send it again.")
    stem, dot, ending = name.replace("\\", "/").rpartition("/")[2].rpartition(".")
    if not (stem and dot) or ending.lower() not in _NAMES:
        raise unreadable("This file's name does not end like that of a photo: .jpg, .png, .webp or .heic.")
    return _NAMES[ending.lower()]


def read_codes(data: bytes) -> list[codes.Code]:
    """Codes in a photo of a label, read in the press; nothing of it is kept. Refused with `photo_unreadable`."""
    file = _as_file(data)
    try:
        kind = _sniffed(Path(file.name), len(data)).kind
        return press.run(codes.read, file.name, kind, timeout=PRESS_S)
    except (decode.Unreadable, press.PressFailed) as fault:
        if isinstance(fault, press.PressBusy):
            raise
        raise unreadable("This photo could not be opened safely. Take it again.") from None
    finally:
        file.close()


def _as_file(data: bytes):
    file = tempfile.NamedTemporaryFile(dir=settings.FILE_UPLOAD_TEMP_DIR, suffix=".photo")  # noqa: SIM115
    file.write(data)
    file.flush()
    return file


def _sniffed(file: Path, size: int) -> sniff.Header:
    if size > MOST_BYTES:
        raise unreadable(f"This file is larger than {MOST_BYTES // 1_000_000} MB. Send a smaller photo.")
    try:
        return sniff.sniff(file.read_bytes())
    except sniff.NotAPicture as fault:
        raise unreadable(str(fault)) from None


def _decoded(file: Path, kind: str) -> decode.Decoded:
    """Decoded in the press. A helper may die for a reason of its own, so a second one is asked before giving up."""
    try:
        return _at_press(file, kind)
    except press.PressBusy:
        raise
    except press.PressFailed:
        pass
    try:
        return _at_press(file, kind)
    except press.PressBusy:
        raise
    except press.PressFailed:
        raise unreadable("This photo could not be opened safely. Take it again.") from None


def _at_press(file: Path, kind: str) -> decode.Decoded:
    try:
        return press.run(decode.decode, str(file), kind, timeout=PRESS_S)
    except decode.Unreadable:
        raise unreadable("This photo is damaged and cannot be opened. Take it again.") from None


def _stops(decoded: decode.Decoded) -> list[Reason]:
    found = []
    if min(decoded.w, decoded.h) < SHORTER_SIDE:
        text = (
            f"This photo is only {decoded.w} × {decoded.h} pixels. The shorter side needs {SHORTER_SIDE}; "
            "take it again with the camera at full size."
        )
        found.append(Reason("photo_small", text))
    if decoded.verdict.blank:
        found.append(Reason("photo_blank", "This photo is all black or all white. Take it again."))
    return found
