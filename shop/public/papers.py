"""Whether a file is a certificate exactly as we printed it.

Only the digest of the whole file decides. The mark inside is read to tell somebody that a file once was ours and
was changed since; it is looked for as bytes, because opening a stranger's PDF is a risk that buys nothing here.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import sha256

from shop.warranty.models import Certificate, Revision
from shop.warranty.paper import mark_pattern

MOST_BYTES = 60 * 1024 * 1024
MARK_LENGTH = 64
_HEX = re.compile(rb"<\s*([0-9a-fA-F\s]{60,200})>")


@dataclass(frozen=True)
class Verdict:
    """`code`: current (the paper in force, or its cover has ended: see its page), superseded, withdrawn,
    changed, unknown. `revision` is the one this file is, or claims to be."""

    code: str
    text: str
    revision: Revision | None = None
    current: Revision | None = None

    @property
    def ours(self) -> bool:
        return self.code in ("current", "superseded", "withdrawn")


def examine(pieces: Iterable[bytes]) -> Verdict:
    """The verdict on a file given in pieces. Whatever goes wrong on the way, the file counts as not ours."""
    try:
        return _examine(pieces)
    except Exception:
        return _unknown()


def _examine(pieces: Iterable[bytes]) -> Verdict:
    running, mark, tail, size = sha256(), None, b"", 0
    for piece in pieces:
        size += len(piece)
        if size > MOST_BYTES:
            return _unknown()
        running.update(piece)
        mark = mark or _mark_in(tail + piece)
        tail = (tail + piece)[-4 * MARK_LENGTH :]
    known = Revision.objects.printed_as(running.hexdigest())
    if known:
        return _known(known)
    certificate = Certificate.objects.filter(token=mark).first() if mark else None
    if certificate:
        text = (
            f"This file says it is certificate {certificate.number}, but it is not the file we printed: "
            "something in it was changed. Do not rely on it."
        )
        return Verdict("changed", text, current=certificate.current())
    return _unknown()


def _known(revision: Revision) -> Verdict:
    certificate, current = revision.certificate, revision.certificate.current()
    name = f"certificate {certificate.number}, revision {revision.n}"
    if current.withdrawn_at:
        text = f"This is {name}, exactly as we printed it, and it was withdrawn since."
        return Verdict("withdrawn", text, revision, current)
    if current.pk != revision.pk:
        text = f"This is {name}, exactly as we printed it. Revision {current.n} has taken its place since."
        return Verdict("superseded", text, revision, current)
    return Verdict("current", f"This is {name}, exactly as we printed it.", revision, current)


def _unknown() -> Verdict:
    return Verdict("unknown", "This is not a certificate of ours, or not one that can be read.")


def _mark_in(data: bytes) -> str | None:
    """The token in the file's permanent identifier, written as text or, by other programs, as hexadecimal."""
    found = mark_pattern().search(data)
    if found:
        return found[1].decode()
    for text in _HEX.finditer(data):
        digits = re.sub(rb"\s", b"", text[1])
        if len(digits) % 2 == 0 and (found := mark_pattern().search(bytes.fromhex(digits.decode()))):
            return found[1].decode()
    return None
