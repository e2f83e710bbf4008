"""Proof of the demo's shop: green as it was told, red at every single thing changed behind its back."""

import io
import json
import os
from contextlib import contextmanager
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection, transaction

from shop import folder, models, store
from shop.keep import checks
from shop.keep.prove import prove
from shop.record import triggers
from tests.keep.behind_the_book import FAULTS, entry, sql


@pytest.fixture(scope="module", autouse=True)
def shop(demo_on_disk, tmp_path_factory, django_db_blocker):
    copy = demo_on_disk.copy(tmp_path_factory.mktemp("proved") / "data")
    with copy.opened(django_db_blocker):
        yield copy


@contextmanager
def undone():
    """Whatever is done to the rows inside is rolled back, the triggers that were dropped among it."""
    try:
        with transaction.atomic():
            triggers.drop()
            yield
            raise ZeroDivisionError
    except ZeroDivisionError:
        pass


def commanded() -> dict[str, list[dict]]:
    """What the command finds wrong, by check; its exit status is held to it."""
    out, status = io.StringIO(), 0
    try:
        call_command("prove", "--json", stdout=out, stderr=io.StringIO())
    except SystemExit as ended:
        status = ended.code
    told = json.loads(out.getvalue())
    found = {check["name"]: check["wrong"] for check in told["checks"] if check["wrong"]}
    assert (told["ok"], status) == (not found, 1 if found else 0)
    return found


def wrong() -> dict[str, list[dict]]:
    """The same, whether or not the triggers are there."""
    return {name: texts for name, texts in commanded().items() if name != "triggers"}


# ------------------------------------------------------------------ green


def test_the_demo_proves(shop):
    told = prove()
    assert told["ok"], [wrong for check in told["checks"] for wrong in check["wrong"]]
    looked = {check["name"]: check["checked"] for check in told["checks"]}
    assert looked["entries"] == models.Entry.objects.count() > 100
    assert looked["photos"] == 3 * models.Photo.objects.count()
    assert looked["outcomes"] == models.Outcome.objects.count()
    for name in ("triggers", "books", "private values", "documents", "sign-offs", "photos as proof", "cover lines",
                 "certificates", "printed papers", "consents"):  # fmt: skip
        assert looked[name] > 0, name


def test_progress_is_told(monkeypatch):
    monkeypatch.setattr(checks, "EVERY", 10)
    heard = []
    prove(tell=lambda name, checked: heard.append((name, checked)))
    assert {("entries", 10), ("entries", 110), ("outcomes", 70), ("photos", 30)} <= set(heard)


# ------------------------------------------------------------------ rows


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.__name__)
def test_a_change_behind_the_book_is_named(fault):
    with undone():
        name, pk, text = fault()
        # Back again, so that the command's status is owed to this fault alone.
        triggers.make()
        assert triggers.present() == set(triggers.names())
        found = wrong().get(name, [])
        assert any(one["id"] == pk and text in one["text"] for one in found), found
    assert wrong() == {}


def test_a_receipt_of_the_right_entry_is_right():
    with undone():
        tablet, about = models.Tablet.objects.first(), entry("answer", 1)
        receipt = {
            "workshop": tablet.workshop, "tablet": tablet, "body_digest": "0" * 64, "entry": about,
            "answer": {"outcome": "applied", "outcome_id": about.outcome.pk}, "at": about.received_at,
        }  # fmt: skip
        models.Receipt.objects.create(key="k" * 20, seq=7, **receipt)
        assert wrong() == {}
        models.Receipt.objects.create(key="l" * 20, seq=8, **receipt)
        assert [one["id"] for one in wrong()["receipts"]] == ["l" * 20]


def test_a_value_that_no_entry_erased_is_no_erased_one():
    with undone():
        row = models.Customer.objects.first().name
        sql("UPDATE shop_private SET value = '', salt = '', erased_at = '2026-05-01' WHERE id = %s", row.pk)
        assert [one["text"] for one in wrong()["erased"]] == [
            f"Value {row.pk} is gone, and no entry of the book erased it."
        ]


def test_each_missing_trigger_is_named():
    for name in triggers.names():
        with transaction.atomic():
            sql_of = f"DROP TRIGGER {name}"
            with connection.cursor() as cursor:
                cursor.execute(sql_of)
            found = commanded()
            transaction.set_rollback(True)
        assert list(found) == ["triggers"]
        assert [one["id"] for one in found["triggers"]] == [name]


def test_a_head_known_from_elsewhere_is_looked_for():
    class Head:
        def __init__(self, row, head=""):
            self.book, self.number, self.head = row.book_id, row.number, head or row.digest
            self.source = "the backup of 3 May"

    row = entry("issue")
    assert prove(heads=[Head(row)])["ok"]
    told = prove(heads=[Head(row), Head(row, "0" * 64)])
    assert [one["text"] for check in told["checks"] for one in check["wrong"]] == [
        f"Entry {row.number} of book {row.book_id} is not the one known from the backup of 3 May."
    ]


# ------------------------------------------------------------------ bytes


@contextmanager
def bytes_changed(path: Path, change):
    before = path.read_bytes()
    os.chmod(path, 0o640)
    change(path, before)
    yield
    path.write_bytes(before)
    os.chmod(path, folder.READ_ONLY)


def flip(path, before):
    path.write_bytes(bytes([before[0] ^ 1]) + before[1:])


def cut(path, before):
    path.write_bytes(before[:-1])


def gone(path, before):
    path.unlink()


@pytest.mark.parametrize(
    ("change", "state"),
    [(flip, "was changed in the store"), (cut, "was changed in the store"), (gone, "is not in the store")],
)
@pytest.mark.parametrize("variant", [store.ORIGINAL, store.SCREEN, store.PRINT])
def test_a_photo_is_read_again_in_every_size(change, state, variant):
    photo = models.Photo.objects.order_by("pk")[2]
    with bytes_changed(folder.path(store.address_of(photo.sha256, variant, "photos")), change):
        found = wrong()
    assert list(found) == ["photos"]
    assert [one["id"] for one in found["photos"]] == [photo.pk]
    assert state in found["photos"][0]["text"]


@pytest.mark.parametrize(
    ("change", "state"), [(flip, "was changed in the store"), (gone, "is not in the store")]
)
def test_a_printed_paper_is_read_again(change, state):
    revision = models.Revision.objects.get()
    with bytes_changed(folder.path(store.address_of(revision.pdf_sha256, store.ORIGINAL, "papers")), change):
        found = wrong()
    assert list(found) == ["printed papers"]
    assert state in found["printed papers"][0]["text"]
    assert revision.certificate.number in found["printed papers"][0]["text"]


# ------------------------------------------------------------------ the command


def test_the_command_ends_with_nought_or_one(shop, tmp_path):
    good = shop.manage("prove", "--json")
    assert (good.returncode, json.loads(good.stdout)["ok"]) == (0, True)

    copy = shop.copy(tmp_path / "data")
    photo = next((copy.data / "photos").rglob("*.print"))
    os.chmod(photo, 0o640)
    flip(photo, photo.read_bytes())
    bad = copy.manage("prove")
    assert bad.returncode == 1
    assert "was changed in the store" in bad.stdout
    assert bad.stdout.splitlines()[-1] == "Something was changed."
    assert "Traceback" not in bad.stderr
