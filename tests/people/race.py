"""Run by test_race in a process of its own: twenty threads at one PIN and one password, on a real database file."""

import json
import os
import sys
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import django

os.environ["DJANGO_SETTINGS_MODULE"] = "shop.settings"
django.setup()

from django.core.management import call_command  # noqa: E402
from django.db import connection  # noqa: E402

from shop import clock  # noqa: E402
from shop.people import actions, passwords, pin  # noqa: E402
from shop.people.models import Person, Throttle  # noqa: E402
from shop.reasons import Refused  # noqa: E402
from tests.people.conftest import OWNER, SHOP  # noqa: E402

AT_ONCE = 20


def outcome(act) -> str:
    try:
        act()
    except Refused as refused:
        return refused.reasons[0].code
    return "taken"


def race(act) -> list[str]:
    gate = Barrier(AT_ONCE)

    def run(_):
        try:
            gate.wait()
            return outcome(act)
        finally:
            connection.close()

    with ThreadPoolExecutor(AT_ONCE) as pool:
        return sorted(pool.map(run, range(AT_ONCE)))


def main() -> None:
    call_command("migrate", verbosity=0)
    now = clock.now()
    starts = race(lambda: actions.set_up(**SHOP, **OWNER, now=now))
    petra = Person.objects.get()
    pins = race(lambda: pin.prove(petra, "730416", now=now))
    words = race(lambda: passwords.sign_in("petra lund", "wrong", now=now))
    petra.refresh_from_db()
    tries = Throttle.objects.get(scope="sign_in").count
    json.dump(
        {"starts": starts, "pins": pins, "words": words, "misses": petra.misses, "tries": tries}, sys.stdout
    )


main()
