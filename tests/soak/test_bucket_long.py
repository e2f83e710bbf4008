"""A whole shop whose photos and papers stand in a bucket: proved, backed up, and restored into another bucket."""

import subprocess
import sys

import pytest

from shop import bucket, folder, store
from shop.keep.backup import back_up
from shop.keep.prove import prove
from shop.models import Entry, Photo, Revision
from tests.bucket_here import bucket_here
from tests.demo_on_disk import ROOT, DemoShop

pytestmark = pytest.mark.soak


@pytest.fixture
def in_a_bucket(opened):
    """The demo's files moved into a bucket; the folder keeps none."""
    kept = [(shelf, *one) for shelf in store.SHELVES for one in store.walk(shelf)]
    with bucket_here() as here:
        files = [
            (folder.path(store.address_of(sha, variant, shelf)), shelf, sha, variant)
            for shelf, sha, variant in kept
        ]
        with here.used():
            for path, shelf, sha, variant in files:
                store.put(path, sha, variant, shelf=shelf)
                path.unlink()
            yield here


def test_it_proves_and_a_lost_or_changed_object_is_named(in_a_bucket):
    assert prove()["ok"]
    photo, paper = Photo.objects.first(), Revision.objects.exclude(pdf_sha256="").first()
    store.forget(photo.sha256)
    bucket.note(store.address_of(paper.pdf_sha256, store.ORIGINAL, "papers"), b"another paper")
    wrong = {check["name"]: check["wrong"] for check in prove()["checks"] if check["wrong"]}
    assert set(wrong) == {"photos", "printed papers"}
    assert {one["id"] for one in wrong["photos"]} == {photo.pk}
    assert "was changed in the store" in wrong["printed papers"][0]["text"]


def test_a_backup_of_it_is_restored_into_another_bucket_and_proves(in_a_bucket, tmp_path):
    now = Entry.objects.latest("pk").received_at
    made = back_up(tmp_path / "disk", now=now, passphrase="gulls over the quay")
    assert not made.wrong and made.copied > 10
    assert back_up(tmp_path / "disk", now=now).copied == 0, (
        "files that are there already are not brought again"
    )
    (tmp_path / "phrase").write_text("gulls over the quay")
    kept = {(shelf, *one) for shelf in store.SHELVES for one in store.walk(shelf)}
    there = in_a_bucket.another()
    place = DemoShop(tmp_path / "elsewhere", {})
    done = subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), "restore", str(made.kept.folder), "--passphrase-file",
         str(tmp_path / "phrase")],
        env=place.environment() | there.environment(), capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    with there.used():
        assert {(shelf, *one) for shelf in store.SHELVES for one in store.walk(shelf)} == kept
        assert all(store.is_sound(sha) for sha, variant in store.walk() if variant == store.ORIGINAL)
