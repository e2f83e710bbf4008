"""A hundred kills and five hundred power cuts; ten and a hundred with BAYPROOF_SOAK=short.

Every figure is printed by the run that measured it.
"""

import os
import sys

import pytest

from shop.models import Book, Entry, Job, Person
from shop.people.identity import Claimed
from shop.work import actions as work
from tests.keep import power
from tests.keep.killing import kill_while_working

pytestmark = pytest.mark.soak
SHORT = os.environ.get("BAYPROOF_SOAK") == "short"
KILLS, CUTS, LEAST = (10, 100, 60) if SHORT else (100, 500, 1000)


def test_a_hundred_kills_lose_nothing_that_was_answered(shop_on_disk, django_db_blocker, tmp_path, capsys):
    told = kill_while_working(
        shop_on_disk, django_db_blocker, rounds=KILLS, seed=7, log=tmp_path / "server.log"
    )
    lost = f"{told.answered} entries answered, none lost, none twice; {told.resent} sent again"
    back = f"{told.photos} photos whole; back after {told.back_s:.1f} s"
    with capsys.disabled():
        sys.stdout.write(f"\n{told.kills} kills: {lost}, {back}\n")
    assert told.kills == KILLS and told.answered > LEAST


@pytest.mark.parametrize("seed", [1, 2])
def test_five_hundred_power_cuts_lose_nothing_that_was_answered(opened, tmp_path, seed, capsys):
    job, ines = Job.objects.order_by("pk")[1], Person.objects.get(name="Ines Moreau")
    now = Entry.objects.latest("pk").received_at

    def write(n):
        if n % 3:
            work.note(job=job, panels=["hood.1"], text=f"note {n} " * (n % 40 + 1), by=Claimed(ines), now=now)
        else:
            work.answer(
                job=job, key="wash.washed", panels=[], edges=[], answer="done", by=Claimed(ines), now=now
            )

    book = Book.objects.get(job=job).pk
    told = power.cut_while_working(opened, tmp_path, write, book=book, cuts=CUTS, seed=seed)
    when = f"{told.with_checkpoint} of them while a checkpoint wrote"
    kept = f"{told.kept_the_last} kept the commit that was under way"
    with capsys.disabled():
        sys.stdout.write(f"\n{told.cuts} cuts, {when}: none lost, none broken; {kept}\n")
    assert told.cuts == CUTS
