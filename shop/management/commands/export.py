"""Writes a car's file as a folder that opens and checks itself without this program."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from shop import clock
from shop.keep.command import MISUSED, WRONG
from shop.keep.export import Taken, export, find_job


class Command(BaseCommand):
    help = (
        "Write a job (its number or id) to a folder: index.html opens without network, python3 -I verify.py checks "
        "it. Exit 0, 1 when something named in the book is missing, 2 for wrong use."
    )

    def add_arguments(self, parser):
        parser.add_argument("job")
        parser.add_argument("to", type=Path, metavar="DEST")

    def handle(self, *, job, to, **options):
        row = find_job(job)
        if row is None:
            raise CommandError(f"There is no job {job}.", returncode=MISUSED)
        try:
            manifest = export(row, to.resolve(), now=clock.now())
        except Taken as taken:
            raise CommandError(str(taken), returncode=MISUSED) from taken
        except OSError as fault:
            raise CommandError(f"Not written: {fault}", returncode=WRONG) from fault
        told = manifest["files"]
        self.stdout.write(
            f"{to}: job {row.number}, {manifest['book']['length']} entries, {len(told)} files. Open index.html."
        )
        for digest in manifest["missing"]:
            self.stderr.write(
                f"The bytes of {digest[:12]} are not in the store, so they are not in the folder."
            )
        if manifest["missing"]:
            raise SystemExit(WRONG)
