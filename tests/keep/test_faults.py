"""What a shop meets: a killed server, a full disk, a locked database, a photo gone, last night's backup."""

import contextlib
import multiprocessing
import os
import signal
import threading
import time
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client

from shop import clock, folder, store
from shop.keep.prove import prove
from shop.models import Entry, Job, Person, Photo, Receipt, Revision, Tablet, Upload
from shop.people.tablets import cookie_of
from shop.warranty import paper
from tests import make_finished
from tests.keep import bay
from tests.keep.killing import kill_while_working

ROUNDS = 10


def wrong():
    return {check["name"]: check["wrong"] for check in prove()["checks"] if check["wrong"]}


def test_a_server_killed_while_writing_loses_nothing_it_answered(shop_on_disk, django_db_blocker, tmp_path):
    """The soak does it a hundred times."""
    told = kill_while_working(
        shop_on_disk, django_db_blocker, rounds=ROUNDS, seed=3, log=tmp_path / "server.log"
    )
    assert told.kills == ROUNDS and told.answered > 20 and told.photos >= 2


# --- printing ------------------------------------------------------------------------------------


def test_a_press_killed_while_printing_leaves_the_paper_unprinted_and_then_prints_it(opened, monkeypatch):
    revision = Revision.objects.select_related("certificate").get()
    before = store.open_pdf(revision.pdf_sha256)
    store.forget(revision.pdf_sha256, shelf="papers")
    Revision.objects.filter(pk=revision.pk).update(pdf_sha256="", printed_at=None)
    revision.refresh_from_db()
    stopped = threading.Event()

    def kill_the_helpers():
        deadline = time.monotonic() + 60
        while time.monotonic() < deadline and not stopped.is_set():
            for child in multiprocessing.active_children():
                # Dead and buried between the look and the shot: the next one is on its way.
                with contextlib.suppress(ProcessLookupError):
                    os.kill(child.pid, signal.SIGKILL)
            time.sleep(0.01)

    killer = threading.Thread(target=kill_the_helpers)
    killer.start()
    try:
        paper.print_revision(revision)
    finally:
        stopped.set()
        killer.join()
    assert not paper.is_printed(revision)
    assert not [p for p in (opened.data / "papers").rglob("*") if p.is_file()]
    assert wrong() == {}, "a paper that waits to be printed is no fault"
    # A helper shot last may be noticed only by the work sent to it: the press says so, and is asked again.
    for _ in range(3):
        if not paper.is_printed(revision):
            paper.print_revision(revision)
    assert paper.is_printed(revision)
    assert store.open_pdf(revision.pdf_sha256) == before, "the same facts give the same paper"
    assert wrong() == {}


# --- the disk ------------------------------------------------------------------------------------


@pytest.fixture
def tablet(opened):
    return Talking(opened)


class Talking:
    """The tablet of the shop, spoken to inside this process."""

    def __init__(self, opened):
        self.row, self.job = Tablet.objects.first(), Job.objects.order_by("pk")[1]
        who = Person.objects.get(name="Ines Moreau").pk
        self.box = bay.Tablet(cookie_of(self.row), self.job.pk, who, port=0)
        self.client = Client(raise_request_exception=False)
        self.client.cookies["tablet"] = self.box.cookie
        self.box._ask = self.ask

    def ask(self, method, address, body=None, kind="application/offset+octet-stream", offset=None):
        headers = {"Sec-Fetch-Site": "same-origin"}
        headers |= {"Upload-Offset": str(offset)} if offset is not None else {}
        answer = self.client.generic(method, address, body or b"", headers=headers, CONTENT_TYPE=kind)
        self.last = answer
        if method == "HEAD":
            return answer.status_code, dict(answer.headers)
        told = answer.json() if answer["Content-Type"].startswith("application/json") else {}
        return answer.status_code, told


def test_a_full_disk_under_the_database_answers_nothing_it_did_not_keep(tablet):
    entries = Entry.objects.count()
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA page_count")
        cursor.execute(f"PRAGMA max_page_count = {cursor.fetchone()[0] + 2}")
        for number in range(60):
            tablet.box.enter("note", panels=[], text=f"note {number} " + "x" * 900)
        with pytest.raises(ValueError, match="answered 5"):
            while True:
                tablet.box.send(most=1)
        kept = len(tablet.box.answers)
        assert 0 <= kept < 60
        assert Receipt.objects.filter(tablet=tablet.row).count() == kept == Entry.objects.count() - entries
        cursor.execute("PRAGMA max_page_count = 1073741823")
    while tablet.box.outbox:
        tablet.box.send()
    assert Entry.objects.count() - entries == 60
    assert {answer["outcome"] for answer in tablet.box.answers.values()} == {"applied"}
    assert wrong() == {}


def test_a_full_disk_under_the_photos_keeps_no_half_photo(tablet, monkeypatch):
    tablet.box.take_photo(make_finished.picture("a full disk"))
    tablet.box.send()
    photos = Photo.objects.count()

    def full(*args):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(folder, "copy", full)
        with pytest.raises(ValueError, match="answered 5"):
            tablet.box.send_photos()
    assert Photo.objects.count() == photos and Upload.objects.waiting().count() == 1
    assert not list(folder.path("photos").rglob(f"{folder.UNFINISHED}*"))
    tablet.box.send_photos()
    assert tablet.box.uploads == {} and Photo.objects.count() == photos + 1
    assert wrong() == {}


# --- the database --------------------------------------------------------------------------------


def test_a_locked_database_says_try_again_and_pages_go_on(tablet, opened):
    sqlite = connection.Database
    holder = sqlite.connect(opened.data / "shop.sqlite3", isolation_level=None)
    connection.ensure_connection()
    connection.connection.execute("PRAGMA busy_timeout = 100")
    owner = Client()
    owner.force_login(Person.objects.get(roles__role="owner").user)
    entries = Entry.objects.count()
    holder.execute("BEGIN IMMEDIATE")
    try:
        tablet.box.enter("note", panels=[], text="while it is locked")
        with pytest.raises(ValueError, match="answered 503"):
            tablet.box.send()
        assert tablet.last["Retry-After"]
        page = owner.get(f"/cars/{tablet.job.pk}/")
        assert page.status_code == 200, "reading goes on"
        refused = owner.post("/shop/customers/", {"key": "7b0e9d52-7b5c-4b2b-9d6b-0f0e5c1f9a11", "years": 3})
        assert refused.status_code == 503 and refused["Retry-After"]
    finally:
        holder.execute("ROLLBACK")
        holder.close()
    assert Entry.objects.count() == entries
    tablet.box.send()
    assert Entry.objects.count() == entries + 1


# --- clocks --------------------------------------------------------------------------------------


def test_clocks_that_jump_lose_nothing_and_what_they_spoilt_is_called_unsure(tablet):
    """The shop's clock goes three days on and back again, the tablet's an hour: an entry each time."""
    real = clock.now()
    for jump in (timedelta(), timedelta(days=3), timedelta(), -timedelta(days=3), timedelta()):
        with clock.held_at(real + jump):
            tablet.box.enter("note", panels=[], text=f"the shop's clock stands off by {jump}")
            tablet.box.send()
    tablet.box.enter("note", panels=[], text="pressed before the tablet's clock was set")["at"] += 3_600_000
    tablet.box.send()
    assert not tablet.box.outbox
    assert {answer["outcome"] for answer in tablet.box.answers.values()} == {"applied"}
    rows = list(Entry.objects.filter(verb="note", book__job=tablet.job).order_by("number"))[-6:]
    assert all(row.happened_at <= row.received_at for row in rows)
    assert not rows[1].sure and not rows[-1].sure
    assert wrong() == {}


# --- the store -----------------------------------------------------------------------------------


def test_a_photo_file_that_is_gone_is_named_and_breaks_no_page(opened):
    photo = Photo.objects.filter(proves__isnull=False).first()
    store.forget(photo.sha256)
    client = Client()
    client.force_login(Person.objects.get(roles__role="owner").user)
    assert client.get(f"/photos/{photo.pk}/screen").status_code == 404
    job = photo.proves.first().checklist.fitting.job
    for address in (
        f"/cars/{job.pk}/",
        f"/life/{job.vehicle_id}/",
        f"/bay/{job.pk}/hood.1/wash/",
        f"/cars/{job.pk}/book/",
    ):
        assert client.get(address).status_code == 200, address
    found = wrong()
    assert set(found) == {"photos"}
    assert {one["id"] for one in found["photos"]} == {photo.pk}


# --- last night's backup -------------------------------------------------------------------------


def test_last_nights_backup_is_restored_and_the_tablets_send_what_it_forgot(
    shop_on_disk, empty_place, tmp_path, django_db_blocker
):
    (tmp_path / "phrase").write_text("gulls over the quay")
    words = [str(tmp_path / "disk"), "--passphrase-file", str(tmp_path / "phrase")]
    with shop_on_disk.opened(django_db_blocker):
        tablet = Talking(shop_on_disk)
        for number in range(3):
            tablet.box.enter("note", panels=[], text=f"before the backup {number}")
        tablet.box.send()
    assert shop_on_disk.manage("backup", *words).returncode == 0
    with shop_on_disk.opened(django_db_blocker):
        for number in range(4):
            tablet.box.enter("note", panels=["hood.1"], text=f"after the backup {number}")
        tablet.box.take_photo(make_finished.picture("after the backup"))
        tablet.box.send()
        kept = dict(tablet.box.uploads)
        tablet.box.send_photos()
        tablet.box.enter("note", panels=[], text="entered while the shop was down")
        entered = Entry.objects.filter(verb__in=["note", "keep_photo"], book__job=tablet.job).count()
    assert empty_place.manage("restore", *words).returncode == 0
    with empty_place.opened(django_db_blocker):
        assert Tablet.objects.get(pk=tablet.row.pk).last_seq == 3
        first = tablet.box.send()
        assert (first["results"], first["expect"]) == ([], 4)
        assert [entry["seq"] for entry in tablet.box.outbox] == [4, 5, 6, 7, 8, 9]
        assert [result["outcome"] for result in tablet.box.send()["results"]] == ["applied"] * 6
        tablet.box.uploads |= kept  # a tablet keeps the bytes for some days after they were taken
        tablet.box.send_photos()
        assert (
            Entry.objects.filter(verb__in=["note", "keep_photo"], book__job=tablet.job).count() == entered + 1
        )
        assert wrong() == {}
        texts = [
            body
            for body in Entry.objects.filter(verb="note").values_list("body", flat=True)
            if "the backup" in body
        ]
        assert len(texts) == 7
