"""A shop with one car whose named panels are set out for bulk film, put into a served data folder; told as JSON."""

import json
import os
import sys

PINS = {"Ines": "482915", "Jonas": "615028", "Marek": "350761", "Both": "904627"}


def main(panels: list[str]) -> None:
    import django

    django.setup()

    from shop import clock, models
    from shop.people import pin
    from shop.people.tablets import cookie_of
    from shop.work.floor import Floor
    from tests import make
    from tests.work.day import Day

    with clock.held_at(make.NOW):
        day = Day()
        models.Roll.objects.update(length_mm=40_000)
        for name, digits in PINS.items():
            models.Person.objects.filter(name=name).update(pin_hash=pin.hashed(digits))
        day.set_out(*panels)
        pieces = Floor(day.job).pieces
        asked = [(line.scope, line.key, piece.place) for piece in pieces for line in lines_of(piece)]
        lines = {(key, "" if scope == "car" else place) for scope, key, place in asked}
        told = {"job": day.job.pk, "places": [piece.place for piece in pieces], "lines": len(lines)}
        told["cookie"] = cookie_of(make.tablet(day.shop))
    sys.stdout.write(json.dumps(told) + "\n")


def lines_of(piece):
    """What has to be answered with a press: the cure's clock is started by the signature before it."""
    found = [line for stage in piece.stages.values() for line in stage.lines]
    return [line for line in found if line.required and line.starts != "cure"]


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    main(sys.argv[1:])
