"""What a tick and a certificate cost, each beside a floor measured in the same run.

Seconds depend on the machine; the ratio to the least that any program would have to do says more. Rounds are
interleaved and the median is taken, so that a busy moment weighs on both alike.
"""

import os
import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Callable

ROUNDS_TICK, ROUNDS_PAPER = 30, 3


def main() -> None:
    folder = tempfile.mkdtemp(prefix="bayproof-bench-")
    os.environ["SHOP_DATA"] = folder
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.bench.settings")
    try:
        import django

        django.setup()
        from django.core.management import call_command

        call_command("migrate", verbosity=0, interactive=False)
        from tests.bench import rows

        shop = rows.Shop()
        say("tick", *measure(shop.tick, shop.floor_of_a_tick, ROUNDS_TICK))
        say("certificate", *measure(shop.certificate, shop.floor_of_a_certificate, ROUNDS_PAPER))
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def measure(act: Callable[[], object], floor: Callable[[], object], rounds: int) -> tuple[float, float]:
    """Median seconds of both, run in turns; the first turn of each only warms up."""
    act(), floor()
    spent: tuple[list[float], list[float]] = ([], [])
    for _ in range(rounds):
        for call, times in ((act, spent[0]), (floor, spent[1])):
            began = time.perf_counter()
            call()
            times.append(time.perf_counter() - began)
    return statistics.median(spent[0]), statistics.median(spent[1])


def say(name: str, act: float, floor: float) -> None:
    sys.stdout.write(
        f"{name:<12} {act * 1000:8.1f} ms   floor {floor * 1000:8.1f} ms   ratio {act / floor:5.2f}\n"
    )


if __name__ == "__main__":
    main()
