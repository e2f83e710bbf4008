"""Is it safe? Every line in each of its states, read from what is there and not from settings."""

import re
from collections import namedtuple
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client

from shop import clock, store
from shop.keep import safety, state
from shop.keep.backup import back_up
from shop.keep.proof import prove_and_note
from shop.keep.safety import State
from shop.models import Certificate, Entry, Job, Person, Private, Sending, Tablet, Upload, Workshop
from shop.record import triggers

PHRASE = "gulls over the quay"


@pytest.fixture
def now(opened):
    moment = Entry.objects.latest("pk").received_at + timedelta(hours=1)
    with clock.held_at(moment):
        yield moment


@pytest.fixture
def shop(opened):
    return Workshop.objects.get()


@pytest.fixture
def page(opened):
    client = Client()
    client.force_login(Person.objects.get(roles__role="owner").user)
    return lambda address="/shop/safe/": client.get(address).content.decode()


def line(shop, now, key):
    return next(one for one in safety.lines(shop, now) if one.key == key)


def states(html) -> dict[str, str]:
    return dict(re.findall(r'data-safe="(\w+)" data-state="(\w+)"', html))


@pytest.fixture
def other_disk(monkeypatch):
    """The place of backups counts as another disk, as it should be."""
    monkeypatch.setattr("shop.keep.backup._same_disk", lambda root: False)


def test_a_shop_that_was_never_backed_up_says_so_loudly(page, now):
    html = page()
    assert states(html)["backup"] == "wrong"
    assert "None was ever made." in html and "Not as it is now" in html
    assert html.index('data-safe="backup"') < html.index('data-safe="database"'), "what is worst comes first"
    assert 'data-safe="backup"' in page("/shop/") and "note-wrong" in page("/shop/")


def test_a_day_after_the_last_backup_it_is_loud(page, shop, now, tmp_path, other_disk):
    back_up(tmp_path / "disk", now=now, passphrase=PHRASE)
    fresh = line(shop, now + timedelta(hours=23), "backup")
    assert (fresh.state, fresh.todo) == (State.GOOD, "")
    assert "23 hours old" in fresh.said and str(tmp_path / "disk") in fresh.said
    old = line(shop, now + timedelta(hours=24), "backup")
    assert old.state == State.WRONG and "24 hours old" in old.said and "manage.py backup" in old.command
    with clock.held_at(now + timedelta(hours=23)):
        assert "note-wrong" not in page("/shop/")
    with clock.held_at(now + timedelta(hours=30)):
        assert "30 hours old" in page("/shop/") and "note-wrong" in page("/shop/")
        assert states(page())["backup"] == "wrong"


def test_a_backup_that_lacks_something_wants_looking_at(shop, now, tmp_path):
    back_up(tmp_path / "disk", now=now)
    told = line(shop, now, "backup")
    assert told.state == State.LOOK
    assert "disk the shop is on" in told.todo and "keys are not in it" in told.todo
    state.note(state.BACKUP, failed_at=now + timedelta(minutes=5), why="No space left on device.")
    told = line(shop, now + timedelta(minutes=6), "backup")
    assert "The last try failed: No space left on device." in told.said and told.state == State.LOOK


def test_the_last_proof_is_told_with_what_it_found(shop, now):
    assert line(shop, now, "proof").state == State.LOOK
    prove_and_note(now=now)
    told = line(shop, now, "proof")
    assert told.state == State.GOOD and re.search(r"\d{3,} things looked at, all as entered", told.said)
    assert line(shop, now + timedelta(days=7), "proof").state == State.LOOK
    Private.objects.filter(pk=Private.objects.first().pk).update(value="somebody else")
    prove_and_note(now=now)
    told = line(shop, now, "proof")
    assert (
        told.state == State.WRONG and "1 things were wrong" in told.said and "value kept about" in told.said
    )


def test_the_database_is_asked_and_not_the_settings(shop, now, settings):
    told = line(shop, now, "durable")
    assert told.state == State.GOOD and "synchronous full" in told.said and "journal mode wal" in told.said
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous = NORMAL")
    told = line(shop, now, "durable")
    assert told.state == State.WRONG
    assert "synchronous normal" in told.said and "power cut" in told.todo
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous = FULL")
        cursor.execute("SELECT sqlite_version()")
        assert cursor.fetchone()[0] in line(shop, now, "database").said


def test_missing_guards_are_wrong(shop, now):
    assert line(shop, now, "guards").state == State.GOOD
    triggers.drop()
    told = line(shop, now, "guards")
    assert told.state == State.WRONG and "shop_entry_no_update" in told.said and "migrate" in told.command


Usage = namedtuple("Usage", "total used free")


@pytest.mark.parametrize(
    ("free", "total", "wanted"),
    [
        (80, 250, State.GOOD), (6, 30, State.GOOD), (4, 20, State.LOOK), (20, 250, State.LOOK),
        (0.9, 4, State.WRONG), (11, 250, State.WRONG),
    ],
)  # fmt: skip
def test_the_disk(shop, now, monkeypatch, free, total, wanted):
    gb = safety.GB
    monkeypatch.setattr(safety.shutil, "disk_usage", lambda _: Usage(total * gb, 0, free * gb))
    assert line(shop, now, "disk").state == wanted


def test_tablets_with_work_that_was_not_sent(shop, now):
    assert line(shop, now, "tablets").said == "All have sent what they had."
    tablet = Tablet.objects.first()
    Tablet.objects.filter(pk=tablet.pk).update(unsent=4, seen_at=now - timedelta(minutes=5))
    assert line(shop, now, "tablets").state == State.GOOD, "it is at work, and sends by itself"
    Tablet.objects.filter(pk=tablet.pk).update(seen_at=now - timedelta(hours=5))
    told = line(shop, now, "tablets")
    assert told.state == State.LOOK
    assert f"{tablet.name} holds 4 entries not sent yet, last heard of 5 hours ago." in told.said
    Tablet.objects.filter(pk=tablet.pk).update(revoked_at=now)
    assert line(shop, now, "tablets").state == State.GOOD


def test_promised_photos_that_never_came_and_mails_that_never_left(shop, now):
    assert line(shop, now, "mails").state == State.GOOD
    Upload.objects.create(workshop=shop, job=Job.objects.first(), sha256="0" * 64, size=9,
                          promised_at=now - timedelta(days=2), pressed_at=now)  # fmt: skip
    assert "1 photo promised" in line(shop, now, "photos").said
    Sending.objects.create(workshop=shop, key="recheck:1", certificate=Certificate.objects.first(),
                           address=Private.objects.first(), subject="x", made_at=now, fault="refused")  # fmt: skip
    assert line(shop, now, "mails").state == State.LOOK


def test_keys_others_can_read_are_said(shop, now, opened):
    assert line(shop, now, "keys").state == State.GOOD
    (opened.data / "keys" / "pin").chmod(0o644)
    told = line(shop, now, "keys")
    assert told.state == State.LOOK and "others on this machine can read it" in told.said


def test_when_all_is_well_it_says_yes(page, shop, now, tmp_path, other_disk):
    back_up(tmp_path / "disk", now=now, passphrase=PHRASE)
    prove_and_note(now=now)
    html = page()
    assert set(states(html).values()) == {"good"}, states(html)
    assert "Yes, as far as the program can see" in html
    assert "Bayproof 0" in html


def test_a_state_that_cannot_be_read_counts_as_none(shop, now, tmp_path):
    back_up(tmp_path / "disk", now=now)
    store.note(state.file(state.BACKUP), b"{half")
    assert line(shop, now, "backup").state == State.WRONG


def test_a_bucket_that_does_not_answer_is_loud(shop, now, settings):
    settings.SHOP_STORE, settings.SHOP_STORE_ENDPOINT = "shop-photos", "http://127.0.0.1:9"
    (found,) = safety.photos_and_papers()
    assert found.state == State.WRONG and "shop-photos" in found.said
