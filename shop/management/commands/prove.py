"""Holds everything kept against what was entered. Ends with 1 where something is wrong, each thing by name."""

import json
import sys

from django.core.management.base import BaseCommand, CommandError

from shop import clock, store
from shop.keep.proof import prove_and_note


class Command(BaseCommand):
    help = "Prove books, rows, photos and papers: one changed byte is named."

    def add_arguments(self, parser):
        parser.add_argument("--json", action="store_true", help="one JSON object")

    def handle(self, **options):
        try:
            told = prove_and_note(now=clock.now(), tell=self.progress)
        except store.Unreachable as fault:
            raise CommandError(f"Nothing was proved. {fault}", returncode=1) from fault
        self.stdout.write(json.dumps(told, ensure_ascii=False) if options["json"] else in_words(told))
        if not told["ok"]:
            sys.exit(1)

    def progress(self, name: str, checked: int) -> None:
        end = "\r" if self.stderr.isatty() else "\n"
        self.stderr.write(f"{name}: {checked}", ending=end)


def in_words(told: dict) -> str:
    lines = []
    for check in told["checks"]:
        state = f"{len(check['wrong'])} wrong" if check["wrong"] else "good"
        lines.append(f"{check['name']}: {check['checked']} looked at, {state}")
        lines += [f"    {text}" for text in [*(wrong["text"] for wrong in check["wrong"]), *check["said"]]]
    return "\n".join([*lines, "Everything is as it was entered." if told["ok"] else "Something was changed."])
