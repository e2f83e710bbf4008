"""A backup of the whole shop, made while it is served. Fit for cron: does nothing while the last good one is young."""

import contextlib
from datetime import UTC
from pathlib import Path
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from shop import clock, store
from shop.keep import passphrase, sealed, state
from shop.keep.backup import Made, back_up
from shop.keep.command import MISUSED, WRONG
from shop.keep.database import Unfit
from shop.keep.place import Busy, Place
from shop.keep.rules import age_in_words, read_rules, read_span
from shop.people.models import Workshop


class Command(BaseCommand):
    help = (
        "Back up the shop to a folder on another disk: database, photos, papers; keys only under a passphrase. "
        "Exit 0 when a good backup is there, 1 when something is wrong, 2 for wrong use."
    )

    def add_arguments(self, parser):
        parser.add_argument("place", type=Path, metavar="DEST", help="a folder, made at the first backup")
        parser.add_argument("--every", metavar="20h", help="do nothing while the last good one is younger")
        parser.add_argument("--keep", metavar="RULES", help='which stay, as "7 daily, 4 weekly, 12 monthly"')
        parser.add_argument(
            "--passphrase-file", type=Path, help=f"else ${passphrase.VARIABLE}; seals the keys"
        )
        parser.add_argument("--new-place", action="store_true", help="start afresh where backups used to be")

    def handle(self, *, place, every, keep, passphrase_file, new_place, **options):
        root, now = place.resolve(), clock.now()
        span, rules = _read(read_span, every), _read(read_rules, keep)
        phrase = _phrase(passphrase_file)
        _must_fit(root, new_place)
        young = _young(root, span, now)
        if young is not None:
            self.stdout.write(f"The last good backup is {age_in_words(young)} old. Nothing to do.")
            return
        try:
            made = back_up(
                root, now=now, passphrase=phrase, rules=rules, zone=_zone(), progress=self._progress(options)
            )
        except (Busy, Unfit, store.Unreachable, OSError) as fault:
            why = _why(fault)
            # What hindered the backup may hinder this as well; the sentence counts.
            with contextlib.suppress(OSError, store.Unreachable):
                state.note(state.BACKUP, failed_at=now, why=why)
            raise CommandError(f"No backup was made. {why}", returncode=WRONG) from fault
        self._tell(made, root)
        if made.wrong:
            raise SystemExit(WRONG)

    def _progress(self, options):
        if options["verbosity"] < 1 or not self.stderr.isatty():
            return None

        def show(done, total):
            if done % 50 == 0 or done == total:
                self.stderr.write(f"\r{done} of {total} files", ending="\n" if done == total else "")
                self.stderr.flush()

        return show

    def _tell(self, made: Made, root: Path) -> None:
        told = made.kept.manifest
        self.stdout.write(
            f"Backup {made.kept.folder.name}: {told['counts'].get('shop_entry', 0)} entries in "
            f"{len(told['books'])} books, {told['files']['count']} files ({made.copied} copied, {made.there} there "
            f"already)."
        )
        if made.dropped:
            self.stdout.write(f"{made.dropped} older ones went, as the rules say.")
        if not told["keys"]["sealed"]:
            self.stdout.write(
                "The keys are not in it: give a passphrase, or keep a copy of the keys folder elsewhere."
            )
        if state.read(state.BACKUP).get("same_disk"):
            self.stderr.write("This is the disk the shop is on: it is lost together with it.")
        for sentence in made.wrong:
            self.stderr.write(sentence)


def _read(reader, text):
    if text is None:
        return None
    try:
        return reader(text)
    except ValueError as fault:
        raise CommandError(str(fault), returncode=MISUSED) from fault


def _phrase(file: Path | None) -> str:
    try:
        phrase = passphrase.read(file)
    except (OSError, UnicodeDecodeError) as fault:
        raise CommandError(f"The passphrase file cannot be read: {fault}", returncode=MISUSED) from fault
    if (file or phrase) and (wrong := sealed.problem(phrase)):
        raise CommandError(wrong, returncode=MISUSED)
    return phrase


def _must_fit(root: Path, new_place: bool) -> None:
    data = settings.SHOP_DATA
    if root == data or root.is_relative_to(data) or data.is_relative_to(root):
        raise CommandError("Back up to a folder outside of the shop's own data.", returncode=MISUSED)
    if root.exists() and not root.is_dir():
        raise CommandError(f"{root} is a file, not a folder.", returncode=MISUSED)
    if not root.exists() and not root.parent.is_dir():
        raise CommandError(f"There is no folder {root.parent}. Is the disk plugged in?", returncode=WRONG)
    if not Place(root).is_new():
        return
    if str(root) in state.read(state.BACKUP).get("places", []) and not new_place:
        text = f"{root} held backups before and is empty now. Is the disk plugged in? If it is a new one: --new-place."
        raise CommandError(text, returncode=WRONG)
    if root.exists() and any(root.iterdir()):
        raise CommandError(f"{root} holds other things. Give a folder of its own.", returncode=MISUSED)


def _young(root: Path, span, now):
    """The age of the last good backup where nothing has to be done; None where one is due."""
    if span is None:
        return None
    sound = [kept for kept in Place(root).good() if not kept.manifest["wrong"]]
    age = now - sound[-1].made_at if sound else None
    return age if age is not None and age < span else None


def _zone():
    shop = Workshop.objects.order_by("pk").first()
    return ZoneInfo(shop.zone) if shop else UTC


def _why(fault: Exception) -> str:
    if isinstance(fault, OSError):
        where = f" ({fault.filename})" if fault.filename else ""
        return f"{fault.strerror or fault}{where}."
    return str(fault)
