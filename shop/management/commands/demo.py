"""Makes a believable small shop in an empty data folder, through the same verbs as the screens."""

import json
from datetime import date

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from shop import clock
from shop.demo.report import report
from shop.demo.scenario import Story
from shop.people.models import Workshop

MARK = "this-is-a-demo"


class Command(BaseCommand):
    help = "Fill an empty data folder with an invented shop: people, stock, a car with its certificate."

    def add_arguments(self, parser):
        parser.add_argument("--seed", type=int, default=1, help="same seed and day, same facts")
        parser.add_argument("--size", choices=["small", "full"], default="small")
        parser.add_argument("--as-of", type=date.fromisoformat, help="the day it is in the demo")
        parser.add_argument("--url", default="", help="the address printed in the QR")
        parser.add_argument("--json", action="store_true", help="print one JSON object last")

    def handle(self, *, seed, size, as_of, url, **options):
        folder = settings.SHOP_DATA
        mark = folder / MARK
        call_command("migrate", verbosity=0, interactive=False)
        if Workshop.objects.exists():
            if not mark.exists():
                raise CommandError(f"{folder} holds a real shop; the demo goes into an empty folder only.")
            raise CommandError(f"{folder} holds a demo already; remove the folder to make it again.")
        mark.write_text("made by manage.py demo\n")
        story = Story(
            seed=seed,
            as_of=as_of or clock.now().date(),
            public_url=url or settings.SHOP_URL,
            full=size == "full",
        ).tell()
        told = report(story, seed)
        self.stdout.write(json.dumps(told, ensure_ascii=False) if options["json"] else words(told))


def words(told: dict) -> str:
    lines = ["", f"Demo shop of seed {told['seed']}, as of {told['as_of']}.", "", "People:"]
    for person in told["people"]:
        password = f", password {person['password']}" if person.get("password") else ""
        roles = ", ".join(person["roles"])
        lines.append(f"  {person['name']} ({roles}): PIN {person['pin']}{password}")
    lines += ["", "Tablets (open the link on the tablet, within a day):"]
    lines += [f"  {tablet['name']}: {tablet['enrol_url']}" for tablet in told["tablets"]]
    lines += ["", "Cars:"]
    lines += [f"  {car['plate']}: {car['bay_url']}" for car in told["cars"]]
    for paper in told["certificates"]:
        lines += ["", f"Certificate {paper['number']}: {paper['pdf']}", f"  check it: {paper['check_url']}"]
    return "\n".join(lines)
