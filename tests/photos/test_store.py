import os
import stat
from hashlib import sha256
from pathlib import Path

import pytest

from shop import store
from shop.folder import UNFINISHED


@pytest.fixture(autouse=True)
def empty_shelves(settings, tmp_path):
    settings.SHOP_DATA = tmp_path
    return tmp_path


def digest(data):
    return sha256(data).hexdigest()


def test_bytes_come_back_under_their_digest_and_in_their_sizes():
    store.put(b"original", digest(b"original"))
    store.put(b"smaller", digest(b"original"), store.SCREEN)
    assert store.open_bytes(digest(b"original")) == b"original"
    assert store.open_bytes(digest(b"original"), "screen") == b"smaller"
    assert store.has(digest(b"original"), "screen") and not store.has(digest(b"original"), "print")


def test_a_file_is_taken_like_bytes(tmp_path):
    file = tmp_path / "sent"
    file.write_bytes(b"x" * 3_000_000)
    store.put(file, digest(b"x" * 3_000_000))
    assert store.open_bytes(store.digest_of(file)) == b"x" * 3_000_000


def test_bytes_under_another_digest_are_refused_and_nothing_is_left():
    with pytest.raises(ValueError, match="not"):
        store.put(b"one", digest(b"two"))
    assert list(store.walk()) == []


@pytest.mark.parametrize("name", ["../../etc/passwd", "a" * 63, "A" * 64, "", "g" * 64, "a" * 64 + "\n"])
def test_only_a_digest_names_a_file(name):
    with pytest.raises(ValueError, match="64"):
        store.open_bytes(name)


def test_unknown_variant_and_missing_bytes_are_told_apart():
    with pytest.raises(ValueError, match="keeps no"):
        store.open_bytes(digest(b""), "huge")
    with pytest.raises(store.Missing):
        store.open_bytes(digest(b""))


def test_what_is_kept_cannot_be_written_to(empty_shelves):
    store.put(b"kept", digest(b"kept"))
    (file,) = (p for p in (empty_shelves / "photos").rglob("*") if p.is_file())
    assert stat.S_IMODE(file.stat().st_mode) == 0o440
    assert file.relative_to(empty_shelves / "photos").parts == (digest(b"kept")[:2], digest(b"kept"))


def test_one_changed_byte_is_found_and_the_right_bytes_repair_it(empty_shelves):
    store.put(b"kept", digest(b"kept"))
    file = empty_shelves / "photos" / digest(b"kept")[:2] / digest(b"kept")
    file.chmod(0o640)
    file.write_bytes(b"kePt")
    assert not store.is_sound(digest(b"kept"))
    store.put(b"kept", digest(b"kept"))
    assert store.is_sound(digest(b"kept"))


def test_walk_names_everything_once_and_passes_over_unfinished_files(empty_shelves):
    for data in (b"one", b"two"):
        store.put(data, digest(data))
    store.put(b"small", digest(b"one"), store.PRINT)
    (empty_shelves / "photos" / digest(b"one")[:2] / f"{UNFINISHED}x").write_bytes(b"half")
    wanted = {(digest(b"one"), "original"), (digest(b"one"), "print"), (digest(b"two"), "original")}
    assert set(store.walk()) == wanted and len(list(store.walk())) == 3


def test_everything_is_flushed_before_put_returns(monkeypatch, empty_shelves):
    flushed = []
    real = os.fsync
    monkeypatch.setattr(
        os, "fsync", lambda handle: (flushed.append(os.readlink(f"/proc/self/fd/{handle}")), real(handle))
    )
    store.put(b"kept", digest(b"kept"))
    folder = empty_shelves / "photos" / digest(b"kept")[:2]
    assert any(Path(name).name.startswith(UNFINISHED) for name in flushed)
    assert {str(folder), str(folder.parent), str(empty_shelves)} <= set(flushed)
    assert flushed[-1] == str(folder)


def test_a_put_that_fails_leaves_nothing_behind(monkeypatch, empty_shelves):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(OSError, match="space"):
        store.put(b"kept", digest(b"kept"))
    assert [p for p in (empty_shelves / "photos").rglob("*") if p.is_file()] == []


def test_sweep_drops_old_halves_only(empty_shelves):
    store.put(b"kept", digest(b"kept"))
    folder = empty_shelves / "photos" / digest(b"kept")[:2]
    for name, at in (("old", 100), ("new", 900)):
        (folder / f"{UNFINISHED}{name}").write_bytes(b"half")
        os.utime(folder / f"{UNFINISHED}{name}", (at, at))
    assert store.sweep(500) == 1
    assert store.has(digest(b"kept")) and (folder / f"{UNFINISHED}new").exists()


def test_papers_stand_on_a_shelf_of_their_own():
    name = store.put_pdf(b"%PDF-1.7 paper")
    assert store.open_pdf(name) == b"%PDF-1.7 paper"
    assert not store.has(name) and list(store.walk("papers")) == [(name, "original")]


def test_forgetting_takes_every_size():
    store.put(b"kept", digest(b"kept"))
    store.put(b"small", digest(b"kept"), store.SCREEN)
    store.forget(digest(b"kept"))
    assert list(store.walk()) == []
