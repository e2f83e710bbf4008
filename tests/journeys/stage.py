"""A shop with cars of two pieces each, and two tablets a car, put into a served data folder; told as JSON."""

import json
import os
import sys


def main(count: int) -> None:
    import django

    django.setup()
    from datetime import timedelta

    from shop import clock
    from shop.intake.names import body_of
    from shop.intake.panels import make_panels
    from shop.people.identity import SignedIn
    from shop.people.tablets import cookie_of
    from shop.work.setout import set_out
    from tests import make

    with clock.held_at(make.NOW):
        shop = make.workshop()
        make.document(shop, "roles", "roles.toml")
        sheet = make.document(shop, "film", "films/defaults.toml")
        ines = make.person(shop, "Ines", "installer")
        marek = make.person(shop, "Marek", "installer", "inspector")
        dora = make.person(shop, "Dora", "desk")
        plan = make.document(shop, "plan", "plans/builtin.toml")
        body = make.document(shop, "body", "bodies/sedan.toml")
        # Long enough for every car that is asked for.
        roll = make.roll(shop, length_mm=3000 * count)
        cars = []
        for n in range(1, count + 1):
            car = make.vehicle(shop, vin=None, chassis=f"CH-{n:04}", chassis_reason="Built in the shop.")
            job = make.job(shop, car=car, number=f"26-{n:04}", plan=plan, body=body)
            make_panels(car, body_of(body))
            piece = {"piece": 1, "roll": roll, "sheet": sheet, "people": [ines]}
            for panel in ("hood", "fender-left"):
                at = make.NOW - timedelta(hours=1)
                set_out(job=job, panel=panel, pieces=[piece], by=SignedIn(dora), now=at)
            rows = [make.tablet(shop) for _ in range(2)]
            tablets = [{"id": row.pk, "cookie": cookie_of(row)} for row in rows]
            cars.append({"job": job.pk, "tablets": tablets})
        told = {"people": {"Ines": ines.pk, "Marek": marek.pk}, "cars": cars}
    sys.stdout.write(json.dumps(told) + "\n")


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    main(int(sys.argv[1]))
