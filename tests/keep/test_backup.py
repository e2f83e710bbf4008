"""A backup: whole, cheap the second time, and never taken for good when it was cut off."""

import json
import os
from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command

from shop import clock, folder, store
from shop.keep import heads, sealed, state
from shop.keep.backup import back_up, key_print
from shop.keep.place import FILES, KEYS, MANIFEST, Busy, Place, find, read
from shop.models import Book, Entry, Photo, Revision, Workshop
from tests import make

PHRASE = "gulls over the quay"


@pytest.fixture
def own_data(opened):
    return opened.data


@pytest.fixture
def shop(own_data):
    return Workshop.objects.get()


@pytest.fixture
def place(tmp_path):
    return Place(tmp_path / "disk")


def backed_up(place, **more):
    return back_up(place.root, now=more.pop("now", make.NOW), **more)


def test_the_manifest_says_what_is_in_it(shop, place):
    kept = backed_up(place).kept
    told = json.loads((kept.folder / MANIFEST).read_text())
    assert told["counts"]["shop_entry"] == Entry.objects.count() > 20
    assert {(b["book"], b["length"], b["head"]) for b in told["books"]} == set(
        Book.objects.values_list("pk", "length", "head")
    )
    assert told["database"]["sha256"] == store.digest_of(kept.database)
    assert told["files"]["count"] == len(kept.files())
    assert len(kept.files()) == 3 * Photo.objects.count() + Revision.objects.count()
    assert told["program"]["version"]
    assert told["made_at"] == make.NOW.isoformat()


def test_every_file_is_there_with_its_bytes(shop, place):
    kept = backed_up(place).kept
    for file in kept.files():
        data = place.path(file).read_bytes()
        assert data == store.open_bytes(file.sha256, file.variant, shelf=file.shelf)
        assert store.digest_of(data) == file.digest
        assert len(data) == file.size


def test_what_is_there_is_not_copied_again(shop, place):
    first = backed_up(place)
    before = {path: path.stat().st_ino for path in place.shelves.glob("*/*/*")}
    second = backed_up(place, now=make.NOW + timedelta(hours=1))
    assert (first.there, second.copied) == (0, 0)
    assert second.there == first.copied == len(before)
    assert {path: path.stat().st_ino for path in place.shelves.glob("*/*/*")} == before


def test_a_file_that_rotted_in_the_backup_is_copied_again(shop, place):
    backed_up(place)
    victim = next(place.shelves.glob("photos/*/*"))
    whole = victim.read_bytes()
    victim.chmod(0o600)
    victim.write_bytes(whole[:50] + bytes([whole[50] ^ 1]) + whole[51:])
    again = backed_up(place, now=make.NOW + timedelta(hours=1))
    assert (again.copied, again.wrong) == (1, [])
    assert victim.read_bytes() == whole


def test_a_photo_damaged_in_the_shop_never_replaces_the_good_copy(shop, place):
    backed_up(place)
    photo = Photo.objects.first()
    file = folder.path(store.address_of(photo.sha256, store.ORIGINAL, "photos"))
    good = file.read_bytes()
    file.chmod(0o600)
    file.write_bytes(b"not a photo any more")
    again = backed_up(place, now=make.NOW + timedelta(hours=1))
    kept = next(f for f in again.kept.files() if f.sha256 == photo.sha256 and f.variant == store.ORIGINAL)
    assert place.path(kept).read_bytes() == good


def test_a_photo_that_is_gone_or_damaged_is_named(shop, place):
    gone, changed = Photo.objects.all()[:2]
    store.forget(gone.sha256)
    file = folder.path(store.address_of(changed.sha256, store.ORIGINAL, "photos"))
    file.chmod(0o600)
    file.write_bytes(b"not a photo any more")
    made = backed_up(place)
    said = " ".join(made.wrong)
    assert f"Photo {gone.sha256[:12]} is missing" in said
    assert f"Photo {changed.sha256[:12]} was changed" in said
    assert made.kept.manifest["wrong"] == made.wrong
    assert {f.sha256 for f in made.kept.files()}.isdisjoint({gone.sha256}) and len(made.wrong) == 2


def test_keys_are_left_out_without_a_passphrase_and_sealed_with_one(shop, place, own_data):
    plain = backed_up(place).kept
    assert not (plain.folder / KEYS).exists() and plain.manifest["keys"]["sealed"] is False
    closed = backed_up(place, now=make.NOW + timedelta(hours=1), passphrase=PHRASE).kept
    secret = (own_data / "keys" / "secret").read_bytes()
    everything = b"".join(path.read_bytes() for path in place.root.rglob("*") if path.is_file())
    assert secret.strip() not in everything
    opened = sealed.unseal((closed.folder / KEYS).read_bytes(), PHRASE)
    assert opened == {"pin": (own_data / "keys" / "pin").read_bytes(), "secret": secret}
    assert closed.manifest["keys"]["prints"]["secret"] == key_print("secret", secret)
    with pytest.raises(sealed.Locked):
        sealed.unseal((closed.folder / KEYS).read_bytes(), PHRASE + ".")


@pytest.mark.parametrize("field", ["salt", "nonce", "data", "n"])
def test_sealed_keys_that_were_changed_do_not_open(field, monkeypatch):
    monkeypatch.setattr(sealed, "COST", 2**10)
    told = json.loads(sealed.seal({"pin": b"1"}, PHRASE))
    told[field] = told[field] * 2 if field == "n" else "A" + told[field][1:] if told[field][0] != "A" else "B"
    with pytest.raises(sealed.Locked):
        sealed.unseal(json.dumps(told).encode(), PHRASE)


@pytest.mark.parametrize(
    "fails", ["shop.keep.backup._keys", "shop.keep.place.write_whole", "shop.keep.place.Path.rename"]
)
def test_a_backup_that_was_cut_off_is_none(shop, place, monkeypatch, fails):
    first = backed_up(place).kept
    with monkeypatch.context() as patched:
        patched.setattr(fails, _full)
        with pytest.raises(OSError, match="No space"):
            backed_up(place, now=make.NOW + timedelta(hours=1))
    assert [kept.folder for kept in place.good()] == [first.folder]
    assert find(place.root).folder == first.folder
    third = backed_up(place, now=make.NOW + timedelta(hours=2)).kept
    assert [kept.folder for kept in place.good()] == [first.folder, third.folder]
    assert not list(place.root.rglob(".new-*"))


def _full(*args, **kwargs):
    raise OSError(28, "No space left on device")


@pytest.mark.parametrize("harm", ["cut", "flip", "no list", "short database", "renamed too early"])
def test_a_backup_that_is_not_whole_is_not_found(shop, place, harm):
    good = backed_up(place).kept
    bad = backed_up(place, now=make.NOW + timedelta(hours=1)).kept
    manifest = bad.folder / MANIFEST
    text = manifest.read_bytes()
    if harm == "cut":
        manifest.write_bytes(text[:-20])
    elif harm == "flip":
        manifest.write_bytes(
            text.replace(b'"shop_entry": 2', b'"shop_entry": 3').replace(b'"length": 1', b'"length": 2')
        )
        assert manifest.read_bytes() != text
    elif harm == "no list":
        (bad.folder / FILES).unlink()
    elif harm == "short database":
        os.truncate(bad.database, 4096)
    else:
        manifest.unlink()
    assert read(bad.folder) is None
    assert find(place.root).folder == good.folder


def test_two_at_once_are_one(shop, place):
    place.make()
    with place.alone(), pytest.raises(Busy):
        backed_up(place)
    backed_up(place)


def test_older_ones_go_by_the_rules_and_their_files_with_them(shop, place):
    backed_up(place)
    erased = Photo.objects.first()
    store.forget(erased.sha256)
    Photo.objects.filter(pk=erased.pk).update(sha256="0" * 64)  # as if no row named these bytes
    for hours in (1, 2, 30):
        made = backed_up(place, now=make.NOW + timedelta(hours=hours), rules={"daily": 2})
    assert [kept.made_at - make.NOW for kept in place.good()] == [timedelta(hours=2), timedelta(hours=30)]
    assert made.dropped == 0
    assert not list(place.shelves.glob(f"photos/*/{erased.sha256}*"))
    listed = {place.path(file) for kept in place.good() for file in kept.files()}
    assert set(place.shelves.glob("*/*/*")) == listed


def test_it_is_remembered_with_the_heads_of_all_books(shop, place):
    backed_up(place)
    assert state.moment(state.read(state.BACKUP), "at") == make.NOW
    known = {(head.book, head.number, head.head) for head in heads.known()}
    assert known == set(Book.objects.exclude(length=0).values_list("pk", "length", "head"))
    assert heads.missing(heads.known()) == []
    other = heads.Head(heads.known()[0].book, 1, "f" * 64, "backup of another day")
    assert heads.missing([other]) == [other]


def test_the_command_waits_until_the_next_one_is_due(shop, place, capsys):
    with clock.held_at(make.NOW):
        call_command("backup", place.root, every="20h")
    with clock.held_at(make.NOW + timedelta(hours=19)):
        call_command("backup", place.root, every="20h")
        assert "19 hours old. Nothing to do." in capsys.readouterr().out
    with clock.held_at(make.NOW + timedelta(hours=20)):
        call_command("backup", place.root, every="20h")
    assert len(place.good()) == 2


def test_one_with_something_missing_does_not_count_as_the_last_good_one(shop, place):
    store.forget(Photo.objects.first().sha256)
    for hours in (0, 1):
        with clock.held_at(make.NOW + timedelta(hours=hours)), pytest.raises(SystemExit) as left:
            call_command("backup", place.root, every="20h")
        assert left.value.code == 1
    assert len(place.good()) == 2


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["{disk}", "--every", "soon"], 2, "length of time"),
        (["{disk}", "--keep", "all"], 2, "is no rule"),
        (["{data}/backups"], 2, "outside of the shop's own data"),
        (["{disk}/not/there"], 1, "plugged in"),
        (["{full}"], 2, "holds other things"),
        (["{file}"], 2, "is a file"),
        (["{disk}", "--passphrase-file", "{empty}"], 2, "too short"),
        (["{disk}", "--passphrase-file", "{disk}/none"], 2, "cannot be read"),
    ],
)
def test_wrong_use_is_told_from_what_went_wrong(shop, own_data, tmp_path, words, code, said):
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "holiday.txt").write_text("sun")
    (tmp_path / "empty").write_text("\n")
    paths = {name: tmp_path / name for name in ("disk", "full", "empty")} | {
        "data": own_data,
        "file": tmp_path / "empty",
    }
    with pytest.raises(CommandError, match=said) as refused:
        call_command("backup", *(word.format(**paths) for word in words))
    assert refused.value.returncode == code


def test_a_disk_that_is_not_plugged_in_is_not_written_beside(shop, place):
    with clock.held_at(make.NOW):
        call_command("backup", place.root)
    place.root.rename(place.root.with_name("unplugged"))
    place.root.mkdir()
    with pytest.raises(CommandError, match="plugged in") as refused:
        call_command("backup", place.root)
    assert refused.value.returncode == 1
    assert list(place.root.iterdir()) == []
    call_command("backup", place.root, new_place=True)
    assert len(place.good()) == 1


def test_a_full_disk_is_said_and_remembered(shop, place, monkeypatch):
    monkeypatch.setattr("shop.keep.backup.write_whole", _full)
    with clock.held_at(make.NOW), pytest.raises(CommandError, match="No space left") as refused:
        call_command("backup", place.root)
    assert refused.value.returncode == 1
    assert state.moment(state.read(state.BACKUP), "failed_at") == make.NOW
    assert place.good() == []
