"""The same store in a bucket: what holds in the folder holds there, and other machines see it at once."""

import base64
import os
from hashlib import sha256

import pytest
from django.core.exceptions import ImproperlyConfigured

from shop import bucket, store
from shop.environment import bucket_name
from shop.keep import heads, state
from tests.bucket_here import bucket_here


@pytest.fixture(scope="module")
def server():
    with bucket_here() as here:
        yield here


@pytest.fixture
def here(server, settings, tmp_path):
    settings.SHOP_DATA = tmp_path
    with server.used():
        yield server
        for shelf in (*store.SHELVES, "keep"):
            bucket.forget(bucket.older(shelf, 4e9))


def digest(data):
    return sha256(data).hexdigest()


def test_bytes_come_back_under_their_digest_and_in_their_sizes(here, tmp_path):
    file = tmp_path / "sent"
    file.write_bytes(b"x" * 3_000_000)
    store.put(file, store.digest_of(file))
    store.put(b"smaller", store.digest_of(file), store.SCREEN)
    assert store.open_bytes(store.digest_of(file)) == b"x" * 3_000_000
    assert store.open_bytes(store.digest_of(file), store.SCREEN) == b"smaller"
    assert store.has(store.digest_of(file), store.SCREEN) and not store.has(
        store.digest_of(file), store.PRINT
    )
    assert list(tmp_path.iterdir()) == [file], "nothing stays on this machine"


def test_nothing_there_is_missing_and_other_bytes_are_refused(here):
    with pytest.raises(store.Missing):
        store.open_bytes(digest(b"none"))
    with pytest.raises(ValueError, match="not"):
        store.put(b"one", digest(b"two"))
    assert not store.is_sound(digest(b"none")) and list(store.walk()) == []


def test_the_digest_goes_along_so_that_the_bucket_can_refuse_what_changed_on_the_way(here):
    seen = []
    events = here.client().meta.events
    events.register("before-send.s3.PutObject", lambda request, **_: seen.append(request.headers))
    store.put(b"kept", digest(b"kept"))
    said = seen[0]["x-amz-checksum-sha256"]
    assert base64.b64decode(said).hex() == digest(b"kept")


def test_one_changed_byte_is_found_and_the_right_bytes_repair_it(here):
    store.put(b"kept", digest(b"kept"))
    key = f"bay/{store.address_of(digest(b'kept'), store.ORIGINAL, 'photos')}"
    here.client().put_object(Bucket=here.name, Key=key, Body=b"kePt")
    assert not store.is_sound(digest(b"kept"))
    store.put(b"kept", digest(b"kept"))
    assert store.is_sound(digest(b"kept"))


def test_walk_names_everything_in_order_and_forgetting_takes_every_size(here):
    some = sorted(digest(str(n).encode()) for n in range(40))
    for n in range(40):
        store.put(str(n).encode(), digest(str(n).encode()))
    store.put(b"small", some[0], store.PRINT)
    assert list(store.walk()) == sorted([*((name, "original") for name in some), (some[0], "print")])
    store.forget(some[0])
    assert [name for name, _ in store.walk()] == some[1:]
    paper = store.put_pdf(b"%PDF-1.7 paper")
    assert store.open_pdf(paper) == b"%PDF-1.7 paper" and list(store.walk("papers")) == [(paper, "original")]


def test_what_is_remembered_beside_the_rows_is_seen_by_every_machine(here, settings, tmp_path):
    state.note(state.BACKUP, place="disk")
    heads.note([heads.Head(1, 4, "f" * 64, "backup of a day")])
    settings.SHOP_DATA = tmp_path / "another machine"
    assert state.read(state.BACKUP) == {"place": "disk"}
    assert [head.number for head in heads.known()] == [4]


def test_a_bucket_that_does_not_answer_is_not_taken_for_a_missing_photo(settings, monkeypatch):
    monkeypatch.setitem(os.environ, "AWS_ACCESS_KEY_ID", "shop")
    monkeypatch.setitem(os.environ, "AWS_SECRET_ACCESS_KEY", "invented")
    settings.SHOP_STORE, settings.SHOP_STORE_ENDPOINT = "nowhere", "http://127.0.0.1:9"
    with pytest.raises(store.Unreachable, match="cannot be reached"):
        store.has(digest(b"kept"))


@pytest.mark.parametrize(
    ("said", "meant"),
    [("", ""), ("s3://shop", "shop"), ("s3://shop/bay/", "shop/bay"), ("s3://a.b-c/x/y", "a.b-c/x/y")],
)
def test_the_bucket_is_named_like_any_address(monkeypatch, said, meant):
    monkeypatch.setenv("SHOP_STORE", said)
    assert bucket_name("SHOP_STORE") == meant


@pytest.mark.parametrize(
    "said", ["shop", "s3://", "https://shop", "s3://Shop", "s3://shop//x", "s3://shop/a b"]
)
def test_nonsense_is_refused_at_start(monkeypatch, said):
    monkeypatch.setenv("SHOP_STORE", said)
    with pytest.raises(ImproperlyConfigured, match="SHOP_STORE"):
        bucket_name("SHOP_STORE")
