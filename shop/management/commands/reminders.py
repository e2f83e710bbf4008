"""Mails owners whose recheck is due. Run it once a day; run twice, it sends once."""

from django.core.management.base import BaseCommand

from shop import clock
from shop.people.models import Workshop
from shop.warranty.reminding import Reminded, remind

SAID = (
    ("sent", "sent"),
    ("failed", "did not leave and will be tried again"),
    ("no_address", "have no mail address: call them"),
    ("unclear", "may have left before the program was stopped: ask, then send by hand"),
)


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser):
        parser.add_argument("--dry-run", action="store_true", help="only say who would be written to")

    def handle(self, *args, dry_run, **options):
        for workshop in Workshop.objects.order_by("pk"):
            done = remind(workshop, now=clock.now(), send=not dry_run)
            self.stdout.write(f"{workshop.name}: {said(done, dry_run)}")
            for sentence in done.unready:
                self.stderr.write(sentence)
            if done.failed:
                raise SystemExit(1)


def said(done: Reminded, dry_run: bool) -> str:
    parts = []
    for name, words in SAID:
        numbers = getattr(done, name)
        if numbers:
            words = "would be sent" if dry_run and name == "sent" else words
            parts.append(f"{len(numbers)} {words} ({', '.join(numbers)})")
    return "; ".join(parts) + "." if parts else "nothing is due."
