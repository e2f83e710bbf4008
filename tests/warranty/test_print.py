"""Printing after the commit: in the press, once, kept by digest, and said plainly when it failed."""

from datetime import timedelta

import pytest

from shop import models, press, store
from shop.people.identity import Proven
from shop.reasons import Refused
from shop.warranty import actions, paper
from tests import make_finished

pytestmark = pytest.mark.django_db

NOW = make_finished.HANDED_OVER + timedelta(minutes=10)


@pytest.fixture
def revision():
    done = make_finished.finished_job(panels=(("hood", 1),), with_photos=False)
    return actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)


def dies(*args, **rest):
    raise press.PressFailed("The program that works on this stopped halfway.")


def test_printed_in_the_press_and_kept_by_its_digest(revision):
    paper.print_revision(revision)
    revision = models.Revision.objects.get(pk=revision.pk)
    data = store.open_pdf(revision.pdf_sha256)
    assert data.startswith(b"%PDF-1.7")
    assert store.digest_of(data) == revision.pdf_sha256
    assert revision.printed_at


def test_a_dead_press_leaves_the_certificate_standing(revision, monkeypatch):
    monkeypatch.setattr(press, "run", dies)
    paper.print_revision(revision)
    revision = models.Revision.objects.get(pk=revision.pk)
    assert not paper.is_printed(revision)
    assert revision.printed_at is None
    assert models.CoverLine.objects.filter(revision=revision).exists()

    monkeypatch.undo()
    assert paper.is_printed(paper.print_revision(revision))


def test_a_lost_photo_is_no_paper_without_it(monkeypatch):
    done = make_finished.finished_job(panels=(("hood", 1),))
    revision = actions.issue(job=done.job, by=Proven(done.dora, "pin"), now=NOW)
    store.forget(done.photos[-1].sha256)
    assert not paper.is_printed(paper.print_revision(revision))


def test_what_is_printed_is_never_printed_over(revision, monkeypatch):
    monkeypatch.setattr(press, "run", lambda *args, **rest: b"%PDF-1.7 one")
    paper.print_revision(revision)
    monkeypatch.setattr(press, "run", lambda *args, **rest: b"%PDF-1.7 two")
    paper.print_revision(revision)
    assert store.open_pdf(revision.pdf_sha256) == b"%PDF-1.7 one"


def test_two_presses_at_once_keep_one_paper(revision, monkeypatch):
    stale = models.Revision.objects.get(pk=revision.pk)
    monkeypatch.setattr(press, "run", lambda *args, **rest: b"%PDF-1.7 three")
    paper.print_revision(revision)
    monkeypatch.setattr(press, "run", lambda *args, **rest: b"%PDF-1.7 four")
    paper.print_revision(stale)
    assert stale.pdf_sha256 == revision.pdf_sha256


def test_lost_bytes_come_back_only_as_they_were(revision, monkeypatch):
    monkeypatch.setattr(press, "run", lambda *args, **rest: b"%PDF-1.7 five")
    paper.print_revision(revision)
    kept = revision.pdf_sha256
    store.forget(kept, shelf="papers")
    paper.print_revision(revision)
    assert store.has(kept, shelf="papers")

    store.forget(kept, shelf="papers")
    monkeypatch.setattr(press, "run", lambda *args, **rest: b"%PDF-1.7 six")
    with pytest.raises(Refused) as refused:
        paper.print_revision(revision)
    assert "Correct the certificate" in refused.value.reasons[0].text
    assert not store.has(kept, shelf="papers")
