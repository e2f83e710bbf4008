"""Whether a PDF is a certificate exactly as it was printed here."""

import json
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from shop.public.papers import examine

PIECE = 1 << 20


class Command(BaseCommand):
    help = "Compare a PDF with the papers printed here. Exit 0 when it is one of ours and in force, else 1."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *, file, **options):
        try:
            with file.open("rb") as data:
                verdict = examine(iter(lambda: data.read(PIECE), b""))
        except OSError as fault:
            raise CommandError(f"{file} cannot be read: {fault.strerror}.", returncode=2) from fault
        revision = verdict.revision
        if options["json"]:
            told = {
                "ok": verdict.code == "current",
                "verdict": verdict.code,
                "text": verdict.text,
                "number": revision.certificate.number if revision else None,
                "revision": revision.n if revision else None,
            }
            self.stdout.write(json.dumps(told, ensure_ascii=False))
        else:
            self.stdout.write(verdict.text)
        if verdict.code != "current":
            raise SystemExit(1)
