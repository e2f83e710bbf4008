"""The power goes between two answers: nothing that was answered is lost, and the database is never broken."""

import pytest

from shop.models import Book, Entry, Job, Person
from shop.people.identity import Claimed
from shop.work import actions as work
from tests.keep import power

CUTS = 100


@pytest.fixture
def writing(opened):
    """(book, write): one note a commit into the book of the car in the bay."""
    job, ines = Job.objects.order_by("pk")[1], Person.objects.get(name="Ines Moreau")
    now = Entry.objects.latest("pk").received_at
    words = "touched at the lamp, wiped again " * 6

    def write(n):
        work.note(job=job, panels=["hood.1"], text=f"{n} {words}", by=Claimed(ines), now=now)

    return Book.objects.get(job=job).pk, write


def test_nothing_answered_is_lost(opened, writing, tmp_path):
    book, write = writing
    told = power.cut_while_working(opened, tmp_path, write, book=book, cuts=CUTS, seed=11)
    assert told.cuts == CUTS
    assert 0 < told.kept_the_last < CUTS, "some cuts came before the next commit was whole, some after"
    assert told.with_checkpoint > 0, "some came while pages of the database were written"


def test_a_log_that_was_not_flushed_would_be_noticed(opened, writing, tmp_path):
    """The check itself: files as they were a commit earlier do not hold what was answered since."""
    book, write = writing
    power.checkpoint_often()
    earlier = power.look(opened.data, book)
    write(1)
    answered = power.look(opened.data, book)
    integrity, length, head = power.recovered((earlier.database, earlier.log), tmp_path, book)
    assert integrity == "ok" and (length, head) != (answered.length, answered.head)
