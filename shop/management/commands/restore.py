"""Puts a backup into an empty place, proves it, and says which keys are missing and what then fails."""

import json
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from shop import clock, store
from shop.keep import passphrase
from shop.keep.command import MISUSED, WRONG
from shop.keep.database import Unfit
from shop.keep.place import find
from shop.keep.proof import prove_and_note
from shop.keep.restore import WITHOUT, Refused, Restored, restore


class Command(BaseCommand):
    help = (
        "Restore a backup into an empty place: set SHOP_DATA to a new folder. SRC is a place of backups (its newest "
        "good one is taken) or one backup in it. Exit 0 when all came back and proves, 1 when something is wrong."
    )
    # There is no database to be checked yet.
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("source", type=Path, metavar="SRC")
        parser.add_argument(
            "--passphrase-file", type=Path, help=f"else ${passphrase.VARIABLE}; opens the keys"
        )
        parser.add_argument("--json", action="store_true", help="one JSON object")

    def handle(self, *, source, passphrase_file, **options):
        if not source.is_dir():
            raise CommandError(f"There is no folder {source}.", returncode=MISUSED)
        kept = find(source.resolve())
        if kept is None:
            raise CommandError(f"{source} holds no finished backup that can be read.", returncode=WRONG)
        try:
            phrase = passphrase.read(passphrase_file)
            done = restore(kept, passphrase=phrase, progress=self._progress())
        except (OSError, UnicodeDecodeError) as fault:
            raise CommandError(f"Not restored: {fault}", returncode=WRONG) from fault
        except (Refused, Unfit, store.Unreachable) as fault:
            misused = isinstance(fault, Refused) and fault.misused
            raise CommandError(str(fault), returncode=MISUSED if misused else WRONG) from fault
        told = prove_and_note(now=clock.now(), more=done.heads)
        self.stdout.write(
            json.dumps(_as_json(done, told), ensure_ascii=False) if options["json"] else _words(done, told)
        )
        if done.wrong or not told["ok"]:
            raise SystemExit(WRONG)

    def _progress(self):
        if not self.stderr.isatty():
            return None

        def show(done, total):
            if done % 50 == 0 or done == total:
                self.stderr.write(f"\r{done} of {total} files", ending="\n" if done == total else "")

        return show


def _as_json(done: Restored, told: dict) -> dict:
    return {
        "ok": not done.wrong and told["ok"],
        "backup": done.kept.folder.name,
        "made_at": done.kept.manifest["made_at"],
        "files": done.files,
        "keys": done.keys,
        "missing_keys": [{"name": name, "text": _without(name)} for name in done.missing_keys],
        "wrong": done.wrong,
        "checks": told["checks"],
    }


def _words(done: Restored, told: dict) -> str:
    made = done.kept.made_at
    lines = [
        f"Restored the backup of {made:%Y-%m-%d %H:%M} UTC: {done.kept.manifest['counts']['shop_entry']} entries, "
        f"{done.files} files."
    ]
    if done.migrated:
        lines.append("The database was brought to the shape of this program.")
    lines += [f"Key “{name}” is missing. {_without(name)}" for name in done.missing_keys]
    lines.append(
        "Every session has ended. Whoever left, and every tablet revoked, since then is back: look at People."
    )
    lines += done.wrong
    wrong = [one["text"] for check in told["checks"] for one in check["wrong"]]
    looked = sum(check["checked"] for check in told["checks"])
    lines += wrong
    lines.append(
        f"Proved: {looked} things looked at, " + (f"{len(wrong)} wrong." if wrong else "all as entered.")
    )
    return "\n".join(lines)


def _without(name: str) -> str:
    return WITHOUT.get(name, "Whatever it was for has to be set up again.")
