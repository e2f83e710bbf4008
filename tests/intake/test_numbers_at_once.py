"""Cars that come in at the same moment at several desks, on a database in a file of its own."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
DESKS = 6

AT_ONCE = f"""
import django
django.setup()
from threading import Barrier, Thread
from django.core.management import call_command
from django.db import connection
call_command("migrate", verbosity=0)
from shop.intake.actions import take_in
from shop.models import Job
from shop.people.identity import SignedIn
from tests import make

shop = make.workshop()
for kind, path in (("plan", "plans/builtin.toml"), ("body", "bodies/sedan.toml"), ("roles", "roles.toml")):
    make.document(shop, kind, path)
by = SignedIn(make.person(shop, "Dora", "desk"))
start, failed = Barrier({DESKS}), []

def desk(n):
    try:
        start.wait()
        for turn in range(2):
            take_in(workshop=shop, name=f"Customer {{n}}", chassis=f"CH-{{n}}-{{turn}}", chassis_reason="old",
                    model="Sedan", colour="grey", by=by, now=make.NOW)
    except Exception as error:
        failed.append(repr(error))
    finally:
        connection.close()

desks = [Thread(target=desk, args=(n,)) for n in range({DESKS})]
for one in desks: one.start()
for one in desks: one.join()
print(failed)
print(sorted(Job.objects.values_list("number", flat=True)))
"""


def test_every_car_gets_a_number_and_none_is_left_out(tmp_path):
    env = {name: value for name, value in os.environ.items() if name != "SHOP_DATABASE"}
    env |= {
        "SHOP_DATA": str(tmp_path),
        "DJANGO_SETTINGS_MODULE": "shop.settings",
        "PYTHONWARNINGS": "ignore",
    }
    ran = subprocess.run(
        [sys.executable, "-c", AT_ONCE], cwd=ROOT, env=env, capture_output=True, text=True, check=False
    )
    assert ran.returncode == 0, ran.stderr
    failed, numbers = ran.stdout.splitlines()[-2:]
    assert failed == "[]"
    assert numbers == str([f"26-{n:04}" for n in range(1, 2 * DESKS + 1)])
