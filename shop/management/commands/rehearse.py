"""Does what a file says, line by line, through the verbs of the screens, in a folder kept for practice."""

import json
import sys
from pathlib import Path
from typing import TextIO

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from shop import clock
from shop.demo.rehearsal import Rehearsal
from shop.demo.script import Unfit, read_script
from shop.demo.verbs import VERBS
from shop.management.commands.demo import MARK
from shop.people.models import Workshop

WRONG_USE = 2


class Command(BaseCommand):
    help = "Do the acts of a file in a practice folder and answer each: what it made, or why it was refused."

    def add_arguments(self, parser):
        parser.add_argument("file", nargs="?", help="acts as JSON lines, - for standard input")
        parser.add_argument("--empty", action="store_true", help="begin in an empty folder, with set_up")
        parser.add_argument("--verbs", action="store_true", help="list the verbs and what they take")
        parser.add_argument("--json", action="store_true", help="one JSON object a line")

    def handle(self, *, file, empty, verbs, **options):
        show = as_json if options["json"] else in_words
        if verbs:
            self.stdout.write(as_json(listing()) if options["json"] else verbs_in_words())
            return
        if not file:
            raise CommandError("Name the file to rehearse, or ask for --verbs.", returncode=WRONG_USE)
        try:
            with opened(file) as lines:
                acts = read_script(lines)
        except (Unfit, OSError, UnicodeDecodeError) as fault:
            raise CommandError(str(fault), returncode=WRONG_USE) from None
        prepare(empty=empty)
        rehearsal = Rehearsal(Path.cwd() if file == "-" else Path(file).resolve().parent)
        try:
            for answer in rehearsal.run(acts):
                self.stdout.write(show(answer))
                self.stdout.flush()
        finally:
            clock.set_to(None)


def opened(file: str) -> TextIO:
    return sys.stdin if file == "-" else Path(file).open(encoding="utf-8")


def prepare(*, empty: bool) -> None:
    """A practice folder, and no other: what is rehearsed must never land in a real shop's book."""
    folder = settings.SHOP_DATA
    mark = folder / MARK
    call_command("migrate", verbosity=0, interactive=False)
    there = Workshop.objects.exists()
    if there and not mark.exists():
        wrong = f"{folder} holds a real shop; rehearse in a folder of its own."
    elif there and empty:
        wrong = f"{folder} is not empty; leave --empty away, or take another folder."
    elif not there and not empty:
        wrong = f"{folder} is empty: make a demo there first, or begin from nothing with --empty."
    else:
        mark.touch()
        return
    raise CommandError(wrong, returncode=WRONG_USE)


def listing() -> list[dict]:
    return [
        {
            "verb": verb.name,
            "identity": verb.identity(),
            "args": [
                {"name": arg.name, "type": arg.type, "required": arg.required}
                | ({"of": arg.of} if arg.of else {})
                for arg in verb.args()
            ],
        }
        for verb in VERBS.values()
    ]


def as_json(value) -> str:
    return json.dumps(value, ensure_ascii=False)


def in_words(answer: dict) -> str:
    if answer["ok"]:
        return f"{answer['n']}: done"
    return "\n".join([f"{answer['n']}: refused", *(f"    {text}" for text in answer["texts"])])


def verbs_in_words() -> str:
    lines = []
    for verb in VERBS.values():
        args = ", ".join(f"{arg.name}{'' if arg.required else '?'}: {arg.type}" for arg in verb.args())
        lines.append(f"{verb.name} ({verb.identity()}): {args}")
    return "\n".join(lines)
