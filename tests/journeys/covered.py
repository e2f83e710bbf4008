"""A car under cover, put into a served data folder: a mirror cap filmed, handed over and certified; told as JSON."""

import json
import os
import sys


def main() -> None:
    import django

    django.setup()
    from shop import clock
    from shop.warranty.paper import print_revision
    from tests import make, make_covered
    from tests.make_finished import HANDED_OVER

    with clock.held_at(HANDED_OVER):
        covered = make_covered.with_passwords(panels=(("mirror-left", 1),))
        print_revision(covered.revision)
    told = {"vehicle": covered.car.pk, "vin": covered.car.vin, "certificate": covered.certificate.number}
    people = {name: getattr(covered, name).name for name in ("dora", "petra", "ines", "marek")}
    sys.stdout.write(json.dumps(told | people | {"pin": make.PIN, "tablet": tablet(covered)}) + "\n")


def tablet(covered) -> str:
    from shop.people import tablets
    from tests import make

    return tablets.link_token(make.tablet(covered.shop, name="Bay tablet"))


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    main()
