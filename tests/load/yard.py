"""The shop a load is driven on, made and checked inside the program itself: `python -m tests.load.yard make|check`.

`make N` tells the demo's story, adds cars and N tablets and prints one JSON object; `check FILE` holds what the tablets
were answered against the rows, and proves.
"""

import json
import os
import sys
from datetime import timedelta

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
CARS = 10


def make(tablets: int) -> dict:
    from shop import clock
    from shop.demo.scenario import Story
    from shop.film import actions as film
    from shop.models import Document
    from shop.people import actions as people
    from shop.people.identity import SignedIn
    from shop.people.tablets import cookie_of

    story = Story(seed=5, as_of=(clock.now() - timedelta(days=1)).date())
    story.open_shop()
    story.stock()
    story.roll = film.receive_roll(
        workshop=story.workshop,
        name="Harbour long roll",
        colour="clear",
        finish="gloss",
        sheet=Document.objects.in_force(story.workshop, Document.Kind.FILM),
        lot="L-LONG",
        roll="R-LONG",
        width_mm=1520,
        length_mm=90_000,
        received_on=story.as_of - timedelta(days=5),
        expires_on=story.as_of + timedelta(days=700),
        by=SignedIn(story.owner),
        now=story.at(5, 10),
    )
    for _ in range(CARS):
        story.car_at_work()
    clock.set_to(None)
    now, by = clock.now(), SignedIn(story.owner)
    rows = [
        people.enrol_tablet(workshop=story.workshop, name=f"Bay {n + 1}", by=by, now=now)
        for n in range(tablets)
    ]
    cars, who = story.jobs[-CARS:], (story.ines, story.jonas)
    return {
        "tablets": [
            {"pk": row.pk, "cookie": cookie_of(row), "job": cars[n % CARS].pk, "who": who[n % 2].pk,
             "panel": ("hood.1", "mirror-left.1")[n // CARS % 2]}
            for n, row in enumerate(rows)
        ]
    }  # fmt: skip


def check(told: list[dict]) -> list[str]:
    """What is wrong, in sentences; `told` holds of each tablet its number, its answers and the photos it sent."""
    from shop import store
    from shop.keep.prove import prove
    from shop.models import Photo, Receipt, Upload

    wrong = []
    for tablet in told:
        rows = {row.key: row for row in Receipt.objects.filter(tablet=tablet["pk"])}
        lost = set(tablet["answers"]) ^ set(rows)
        wrong += [f"entry {key} of tablet {tablet['pk']} stands on one side only" for key in sorted(lost)]
        refused = {
            key: said
            for key, said in tablet["answers"].items()
            if said not in ("applied", "same", "conflict")
        }
        wrong += [f"entry {key} was {said}" for key, said in refused.items()]
        if sorted(row.seq for row in rows.values()) != list(range(1, tablet["seq"] + 1)):
            wrong.append(f"tablet {tablet['pk']} has gaps in its numbers")
        for digest in tablet["photos"]:
            if Photo.objects.filter(sha256=digest).count() != 1 or not store.is_sound(digest):
                wrong.append(f"photo {digest[:12]} is not there whole")
    if Upload.objects.waiting().exists():
        wrong.append("a photo was promised and did not arrive")
    wrong += [one["text"] for kept in prove()["checks"] for one in kept["wrong"]]
    return wrong


def main() -> int:
    django.setup()
    if sys.argv[1] == "make":
        from django.core.management import call_command

        call_command("migrate", verbosity=0, interactive=False)
        sys.stdout.write(json.dumps(make(int(sys.argv[2]))) + "\n")
        return 0
    with open(sys.argv[2], encoding="utf-8") as file:
        wrong = check(json.load(file))
    sys.stdout.write("\n".join(wrong[:20]))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
