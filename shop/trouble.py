"""Trouble outside the program: a database that is busy or away, a disk that is full, a bucket that does not answer.

None of it is anybody's fault at the screen, and none may look like a fault of the program: it is told in a sentence,
with what was typed ready to be sent again.
"""

import errno
from dataclasses import dataclass

from django.db import OperationalError

from shop.store import Unreachable

FULL_ERRNO = {errno.ENOSPC, errno.EDQUOT}


@dataclass(frozen=True)
class Trouble:
    code: str
    status: int
    name: str
    text: str
    todo: str
    retry_s: int


BUSY = Trouble(
    "busy", 503, "Busy for a moment",
    "Somebody else is writing into the record right now, so this act was not done.",
    "Wait a few seconds and send it again.", 2,
)  # fmt: skip
FULL = Trouble(
    "disk_full", 507, "The disk is full",
    "There is no room left on the shop's disk, so this act was not done and nothing of it was kept.",
    "Tell the owner: room has to be made on the machine first. Then send it again.", 60,
)  # fmt: skip
AWAY = Trouble(
    "away", 503, "Out of reach for a moment",
    "The shop's database or its store of photos did not answer, so this act was not done.",
    "Wait a little and send it again. If it stays like this, tell the owner.", 10,
)  # fmt: skip

# How SQLite and PostgreSQL say it; the driver tells no kinds apart that both share.
_SAID = (
    (BUSY, ("locked", "deadlock detected", "lock timeout", "too many clients", "could not obtain lock")),
    (FULL, ("disk is full", "no space left", "could not extend file", "disk i/o error")),
    (AWAY, ("connection", "starting up", "shutting down", "recovery mode", "terminating")),
)


def trouble_of(error: BaseException | None) -> Trouble | None:
    """What is the matter, or None where the program itself is to blame."""
    if isinstance(error, Unreachable):
        return AWAY
    if isinstance(error, OperationalError):
        said = str(error).lower()
        return next((kind for kind, words in _SAID if any(word in said for word in words)), None)
    if isinstance(error, OSError) and error.errno in FULL_ERRNO:
        return FULL
    return None
