"""The drill: back up a shop, lose it, restore it elsewhere, and find every byte and every proof again."""

import json
import shutil
import sqlite3
from contextlib import closing

import pytest

from shop.keep import restore as restoring
from shop.keep.place import KEYS, MANIFEST, Place, find
from shop.models import Person, Tablet
from shop.people import pin, tablets
from shop.reasons import Refused

PHRASE = "gulls over the quay"


def rows(data):
    """Every row of every table but the sessions, and the text of every table, index and trigger."""
    with closing(sqlite3.connect(data / "shop.sqlite3")) as database:
        shape = database.execute("SELECT type, name, sql FROM sqlite_master ORDER BY type, name").fetchall()
        tables = [name for kind, name, _ in shape if kind == "table" and name != "django_session"]
        return {"shape": shape} | {
            name: database.execute(f"SELECT * FROM {name} ORDER BY rowid").fetchall() for name in tables
        }


def bytes_of(data):
    return {
        str(path.relative_to(data)): path.read_bytes()
        for shelf in ("photos", "papers")
        for path in (data / shelf).rglob("*")
        if path.is_file()
    }


@pytest.fixture
def disk(tmp_path, shop_on_disk):
    phrase = tmp_path / "phrase"
    phrase.write_text(PHRASE + "\n")
    done = shop_on_disk.manage("backup", str(tmp_path / "disk"), "--passphrase-file", str(phrase))
    assert done.returncode == 0, done.stderr
    return tmp_path / "disk"


def test_the_drill(disk, shop_on_disk, empty_place, tmp_path):
    before, files = rows(shop_on_disk.data), bytes_of(shop_on_disk.data)
    keys = {name: (shop_on_disk.data / "keys" / name).read_bytes() for name in ("secret", "pin")}
    shutil.rmtree(shop_on_disk.data)
    done = empty_place.manage("restore", str(disk), "--passphrase-file", str(tmp_path / "phrase"), "--json")
    assert done.returncode == 0, done.stderr + done.stdout
    told = json.loads(done.stdout)
    assert rows(empty_place.data) == before
    assert bytes_of(empty_place.data) == files and len(files) > 30
    assert {name: (empty_place.data / "keys" / name).read_bytes() for name in keys} == keys
    assert told["ok"] and told["missing_keys"] == [] and told["files"] == len(files)
    looked = {check["name"]: check["checked"] for check in told["checks"]}
    assert looked["printed papers"] == 1 and looked["known heads"] >= 3 and looked["photos"] > 30
    paper = next(path for path in (empty_place.data / "papers").rglob("*") if path.is_file())
    assert empty_place.manage("verify", str(paper)).returncode == 0
    assert empty_place.manage("prove", "--json").returncode == 0


def test_without_the_keys_it_says_what_fails_and_that_is_what_fails(
    disk, shop_on_disk, empty_place, django_db_blocker
):
    with shop_on_disk.opened(django_db_blocker):
        cookie = tablets.cookie_of(Tablet.objects.first())
    done = empty_place.manage("restore", str(disk), "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert {key["name"] for key in told["missing_keys"]} == {"secret", "pin"}
    said = " ".join(key["text"] for key in told["missing_keys"])
    assert "No PIN can be checked" in said and "Everybody signs in again" in said
    person = next(p for p in shop_on_disk.told["people"] if "installer" in p["roles"])
    with empty_place.opened(django_db_blocker):
        from shop import clock

        with pytest.raises(Refused) as refused:
            pin.prove(Person.objects.get(pk=person["id"]), person["pin"], now=clock.now())
        assert refused.value.reasons[0].code == "pin_wrong"
        assert tablets.by_cookie(cookie)[0] is not None, "a tablet goes on working with the cookie it has"
        anew = tablets.cookie_of(Tablet.objects.first())
        assert tablets.by_cookie(anew)[0] is None, "its link gives it a cookie that is worth nothing"


def test_sessions_end(disk, shop_on_disk, empty_place, tmp_path, django_db_blocker):
    from django.contrib.sessions.backends.db import SessionStore
    from django.contrib.sessions.models import Session

    with shop_on_disk.opened(django_db_blocker):
        SessionStore().create()
        assert Session.objects.count() == 1
    assert shop_on_disk.manage("backup", str(disk)).returncode == 0
    assert empty_place.manage("restore", str(disk)).returncode == 0
    with empty_place.opened(django_db_blocker):
        assert Session.objects.count() == 0


def test_a_place_that_is_not_empty_is_left_alone(disk, shop_on_disk, demo_on_disk):
    before = rows(shop_on_disk.data)
    done = shop_on_disk.manage("restore", str(disk))
    assert (done.returncode, "empty place" in done.stderr) == (2, True)
    assert rows(shop_on_disk.data) == before


def test_photos_alone_are_not_empty_either(disk, empty_place):
    (empty_place.data / "photos" / "ab").mkdir(parents=True)
    (empty_place.data / "photos" / "ab" / ("ab" * 32)).write_bytes(b"somebody's")
    done = empty_place.manage("restore", str(disk))
    assert (done.returncode, "holds photos" in done.stderr) == (2, True)
    assert not (empty_place.data / "shop.sqlite3").exists()


@pytest.mark.parametrize(
    ("harm", "said"),
    [
        ("passphrase", "does not open these keys"),
        ("database", "changed or damaged"),
        ("later", "later program"),
        ("manifest", "no finished backup"),
        ("nothing", "There is no folder"),
    ],
)
def test_a_backup_that_cannot_be_restored_leaves_the_place_empty(disk, empty_place, tmp_path, harm, said):
    kept = find(disk)
    words = ["--passphrase-file", str(tmp_path / "phrase")]
    if harm == "passphrase":
        (tmp_path / "phrase").write_text("another long phrase")
    elif harm == "database":
        data = bytearray(kept.database.read_bytes())
        data[5000] ^= 1
        kept.database.write_bytes(data)
    elif harm == "later":
        rewrite(kept, migrations=[*kept.manifest["migrations"], "shop.0999_later"])
    elif harm == "manifest":
        text = (kept.folder / MANIFEST).read_text()
        (kept.folder / MANIFEST).write_text(text.replace('"shop_job": 2', '"shop_job": 3'))
    else:
        shutil.rmtree(disk)
    done = empty_place.manage("restore", str(disk), *words)
    assert done.returncode == (2 if harm == "nothing" else 1)
    assert said in done.stderr
    assert not (empty_place.data / "shop.sqlite3").exists()
    assert not (empty_place.data / "photos").exists()


def rewrite(kept, **changed):
    """A manifest that fits its own digest and says something else."""
    from shop.record import chain

    told = {name: value for name, value in (kept.manifest | changed).items() if name != "digest"}
    (kept.folder / MANIFEST).write_text(json.dumps(told | {"digest": chain.digest(told)}))


def test_a_photo_damaged_in_the_backup_is_named_and_the_rest_comes_back(disk, empty_place):
    kept = find(disk)
    file = next(f for f in kept.files() if f.shelf == "photos" and f.variant == "original")
    path = Place(disk).path(file)
    path.chmod(0o600)
    data = bytearray(path.read_bytes())
    data[-1] ^= 1
    path.write_bytes(data)
    done = empty_place.manage("restore", str(disk), "--json")
    assert done.returncode == 1
    told = json.loads(done.stdout)
    assert told["wrong"] == [f"photos {file.sha256[:12]}… was changed in the backup and was not put back."]
    wrong = [one["text"] for check in told["checks"] for one in check["wrong"]]
    assert wrong == [f"The photo {file.sha256[:12]} is not in the store."]
    assert told["files"] == len(kept.files()) - 1


def test_a_book_older_than_the_backup_knows_is_found_out(disk, empty_place):
    """Somebody swaps in another database of the same size; the manifest's heads are not in it."""
    kept = find(disk)
    books = [dict(book) for book in kept.manifest["books"]]
    books[0]["head"] = "0" * 64
    rewrite(kept, books=books)
    done = empty_place.manage("restore", str(disk))
    assert done.returncode == 1
    assert f"is not the one known from backup {kept.folder.name}" in done.stdout


def test_a_restore_that_was_cut_off_is_begun_again(
    disk, empty_place, django_db_blocker, monkeypatch, tmp_path
):
    (empty_place.data / "keys").mkdir(parents=True)
    (empty_place.data / "incoming").mkdir()
    for name in ("secret", "pin"):
        (empty_place.data / "keys" / name).write_text("fresh\n")
    kept = find(disk)
    with monkeypatch.context() as patched, empty_place.opened(django_db_blocker):
        patched.setattr(restoring.database, "put_back", _cut)
        with pytest.raises(KeyboardInterrupt):
            restoring.restore(kept)
    assert (empty_place.data / restoring.MARK).exists()
    done = empty_place.manage("restore", str(disk), "--passphrase-file", str(tmp_path / "phrase"))
    assert done.returncode == 0, done.stderr
    assert not (empty_place.data / restoring.MARK).exists()


def _cut(*args):
    raise KeyboardInterrupt


def test_one_backup_of_several_can_be_named(disk, shop_on_disk, empty_place):
    older = find(disk)
    assert shop_on_disk.manage("backup", str(disk)).returncode == 0
    assert find(disk).folder != older.folder
    done = empty_place.manage("restore", str(older.folder), "--json")
    assert json.loads(done.stdout)["backup"] == older.folder.name


def test_the_keys_stand_nowhere_in_the_open(disk, shop_on_disk):
    everything = b"".join(path.read_bytes() for path in disk.rglob("*") if path.is_file())
    assert find(disk).folder.joinpath(KEYS).exists()
    for name in ("secret", "pin"):
        assert (shop_on_disk.data / "keys" / name).read_bytes().strip() not in everything
