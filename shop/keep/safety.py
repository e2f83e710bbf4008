"""Is it safe? Each thing that keeps the shop's data, in words, with what to do where it is not well.

Everything is read from what is there now: the live connection, the disk, the rows, and what backup and proof left
behind. Nothing is believed because a setting says so.
"""

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any

from django.conf import settings
from django.db import connection

from shop import store
from shop.checks import sqlite_has_wal_fault
from shop.documents.condition import of_the_machine
from shop.keep import program, state
from shop.keep.rules import age_in_words
from shop.people.models import Tablet, Workshop
from shop.photos.models import Upload
from shop.record import triggers
from shop.warranty.sendings import Sending

BACKUP_EVERY = timedelta(days=1)
PROOF_EVERY = timedelta(days=7)
TABLET_QUIET = timedelta(hours=1)
LATE = timedelta(days=1)
GB = 1_000_000_000
LITTLE, TIGHT = (5 * GB, 0.15), (GB, 0.05)
CRON = '0 21 * * *  manage.py backup DEST --keep "7 daily, 4 weekly, 12 monthly" --passphrase-file FILE'


class State(StrEnum):
    GOOD = "good"
    LOOK = "look"
    WRONG = "wrong"


@dataclass(frozen=True)
class Line:
    """One thing: what it is, how it is, and what to do about it; `command` is typed at the machine."""

    key: str
    name: str
    state: State
    said: str
    todo: str = ""
    command: str = ""


def lines(workshop: Workshop, now: datetime) -> list[Line]:
    return [backup(now), proof(now), *database(), guards(), keys(), *photos_and_papers(), disk(),
            *tablets(workshop, now), mails(workshop, now), this_program()]  # fmt: skip


def verdict(found: list[Line]) -> State:
    states = {line.state for line in found}
    return next(state for state in (State.WRONG, State.LOOK, State.GOOD) if state in states)


def backup(now: datetime) -> Line:
    """The age of the last good backup, loud after a day."""
    told = state.read(state.BACKUP)
    last, failed = state.moment(told, "at"), state.moment(told, "failed_at")
    if last is None:
        said = "None was ever made." + (f" The last try failed: {told.get('why', '')}" if failed else "")
        return Line("backup", "Backup", State.WRONG, said, "Have the machine make one every night:", CRON)
    age = now - last
    said = f"The last one is {age_in_words(age)} old, in {told.get('place', '')}."
    if failed and failed > last:
        said += f" The last try failed: {told.get('why', '')}"
    if age >= BACKUP_EVERY:
        return Line("backup", "Backup", State.WRONG, said, "Make one now, and see why the nightly one did not run:",
                    f"manage.py backup {told.get('place', 'DEST')}")  # fmt: skip
    wants = list(_backup_wants(told, failed is not None and failed > last))
    return Line("backup", "Backup", State.LOOK if wants else State.GOOD, said, " ".join(wants))


def _backup_wants(told: dict[str, Any], failed: bool) -> Iterator[str]:
    if failed:
        yield "See why the last try failed."
    if told.get("wrong"):
        yield f"{told['wrong']} files were missing or damaged: run manage.py prove, and restore them."
    if told.get("same_disk"):
        yield "It is on the disk the shop is on, and is lost together with it: take another disk."
    if not told.get("sealed"):
        yield "The keys are not in it: without them every PIN is set again. Give a passphrase, and keep that apart."


def proof(now: datetime) -> Line:
    told = state.read(state.PROOF)
    last = state.moment(told, "at")
    command = "manage.py prove"
    if last is None:
        return Line(
            "proof", "Proof", State.LOOK, "Never run here.", "Prove every book, photo and paper:", command
        )
    when = f"The last one was {age_in_words(now - last)} ago"
    if not told.get("ok"):
        said = f"{when}, and {told.get('wrong', 0)} things were wrong. {' '.join(told.get('first', [])[:3])}"
        todo = "Do not go on as before: keep the last good backup, and find out what was changed. Then prove again:"
        return Line("proof", "Proof", State.WRONG, said, todo, command)
    looked = sum(told.get("checked", {}).values())
    said = f"{when}: {looked} things looked at, all as entered."
    if now - last >= PROOF_EVERY:
        return Line("proof", "Proof", State.LOOK, said, "Prove again, once a week at least:", command)
    return Line("proof", "Proof", State.GOOD, said)


def database() -> Iterator[Line]:
    """Version and durability as the live connection says."""
    if connection.vendor == "sqlite":
        yield _sqlite_version()
        yield _asked("durable", "Written for good", _SQLITE_ASKED, "PRAGMA {}")
    else:
        with connection.cursor() as cursor:
            cursor.execute("SHOW server_version")
            yield Line("database", "Database", State.GOOD, f"PostgreSQL {cursor.fetchone()[0]}.")
        yield _asked("durable", "Written for good", _POSTGRESQL_ASKED, "SHOW {}")


_SQLITE_ASKED = {"journal_mode": ("wal",), "synchronous": ("2", "3"), "foreign_keys": ("1",)}
_POSTGRESQL_ASKED = {
    "fsync": ("on",),
    "full_page_writes": ("on",),
    "synchronous_commit": ("on", "remote_apply"),
}
_WHAT = {
    "synchronous": {"2": "full", "3": "extra", "1": "normal", "0": "off"},
    "foreign_keys": {"1": "on", "0": "off"},
}


def _sqlite_version() -> Line:
    version = connection.Database.sqlite_version_info
    said = f"SQLite {'.'.join(map(str, version))}, one file."
    if sqlite_has_wal_fault(version):
        todo = "This release has a fault in its write-ahead log. Install the pysqlite3 package, which brings another."
        return Line("database", "Database", State.LOOK, said, todo)
    return Line("database", "Database", State.GOOD, said)


def _asked(key: str, name: str, wanted: dict[str, tuple[str, ...]], question: str) -> Line:
    """Settings as they are, against those under which nothing acknowledged is lost in a power cut."""
    said, wrong = [], []
    with connection.cursor() as cursor:
        for setting, good in wanted.items():
            cursor.execute(question.format(setting))
            value = str(cursor.fetchone()[0])
            said.append(f"{setting.replace('_', ' ')} {_WHAT.get(setting, {}).get(value, value)}")
            if value not in good:
                wrong.append(setting)
    if wrong:
        todo = f"A power cut could lose what was acknowledged: put {', '.join(wrong)} back to what the program sets."
        return Line(key, name, State.WRONG, f"{', '.join(said)}.", todo)
    return Line(key, name, State.GOOD, f"{', '.join(said)}: nothing acknowledged is lost in a power cut.")


def guards() -> Line:
    missing = sorted(set(triggers.names()) - triggers.present())
    if missing:
        said = f"{len(missing)} of {len(triggers.names())} guards of the record book are missing: {', '.join(missing)}."
        return Line("guards", "Record book", State.WRONG, said, "Make them again, then prove:",
                    "manage.py migrate && manage.py prove")  # fmt: skip
    said = f"All {len(triggers.names())} guards are there: the database itself refuses to change what was entered."
    return Line("guards", "Record book", State.GOOD, said)


def keys() -> Line:
    found = of_the_machine().keys
    wrong = [f"{name}: {said}." for name, said in found if said != "there, kept to itself"]
    if wrong:
        return Line(
            "keys", "Keys", State.LOOK, " ".join(wrong), "Put them back from the backup, or close them off."
        )
    return Line("keys", "Keys", State.GOOD, f"All {len(found)} are there, readable by the program alone.")


def photos_and_papers() -> Iterator[Line]:
    """A bucket is asked now; a folder is on the disk, which has its own line."""
    if not settings.SHOP_STORE:
        return
    try:
        store.reach()
    except store.Unreachable as fault:
        todo = "No photo comes in and none is shown until it answers; tablets keep theirs. See its provider."
        yield Line("store", "Photos and papers", State.WRONG, str(fault), todo)
        return
    yield Line("store", "Photos and papers", State.GOOD, f"In {store.in_words()}, which answers.")


def disk() -> Line:
    left = shutil.disk_usage(settings.SHOP_DATA)
    share = left.free / left.total
    said = (
        f"{left.free / GB:.0f} GB free of {left.total / GB:.0f} GB."
        if left.free >= GB
        else "Less than 1 GB free."
    )
    if left.free < TIGHT[0] or share < TIGHT[1]:
        todo = "Make room today. When it is full no photo comes in; tablets keep theirs until there is room."
        return Line("disk", "Disk", State.WRONG, said, todo)
    if left.free < LITTLE[0] or share < LITTLE[1]:
        return Line(
            "disk", "Disk", State.LOOK, said, "Make room before it is needed, or move to a larger disk."
        )
    return Line("disk", "Disk", State.GOOD, said)


def tablets(workshop: Workshop, now: datetime) -> Iterator[Line]:
    """Work that is on a tablet only, and photos whose bytes have not come."""
    rows = [row for row in Tablet.objects.enrolled(workshop) if row.unsent]
    for row in rows:
        seen = now - row.seen_at if row.seen_at else None
        quiet = seen is None or seen >= TABLET_QUIET
        ago = f"last heard of {age_in_words(seen)} ago" if seen is not None else "never heard of since"
        said = f"{row.name} holds {row.unsent} entr{'y' if row.unsent == 1 else 'ies'} not sent yet, {ago}."
        todo = "Bring it into the Wi-Fi and open its page: it sends by itself." if quiet else ""
        yield Line("tablets", "Tablets", State.LOOK if quiet else State.GOOD, said, todo)
    if not rows:
        yield Line("tablets", "Tablets", State.GOOD, "All have sent what they had.")
    late = Upload.objects.of(workshop).waiting().filter(promised_at__lt=now - LATE).count()
    if late:
        said = f"{late} photo{'s' if late > 1 else ''} promised more than a day ago did not come."
        todo = "Open the tablet that took them; if it is gone, take the photos again."
        yield Line("photos", "Photos", State.LOOK, said, todo)


def mails(workshop: Workshop, now: datetime) -> Line:
    waiting = Sending.objects.filter(workshop=workshop, sent_at__isnull=True)
    stuck = waiting.exclude(fault="").count() + waiting.filter(fault="", made_at__lt=now - LATE).count()
    if stuck:
        said = f"{stuck} mail{'s' if stuck > 1 else ''} did not leave."
        return Line(
            "mails", "Mails", State.LOOK, said, "See the mail settings; each is tried again by itself."
        )
    return Line("mails", "Mails", State.GOOD, "All that were written have left.")


def this_program() -> Line:
    return Line("program", "Program", State.GOOD, f"{program.in_words()}.")
