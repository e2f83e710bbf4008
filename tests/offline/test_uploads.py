"""A promised photo arrives in pieces: resumed where it stopped, compared whole, kept once, refused in words."""

import os
import threading
import uuid
from datetime import timedelta

import pytest

from shop import clock, press, store
from shop.models import Entry, OutcomePhoto, Photo, Receipt, Upload
from shop.offline import halves, uploads
from tests import make
from tests.photos import pictures

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.offline.addresses")]
PIECE = 64 * 1024


@pytest.fixture
def data():
    return pictures.jpeg((1600, 1200), quality=88)


@pytest.fixture
def upload(talk, data):
    entry, upload = talk.promise(data, name="IMG_1.JPG")
    assert talk.send(entry)[0]["outcome"] == "applied"
    return upload


def part_of(upload):
    return halves.part(Upload.objects.get(pk=upload))


def told(answer):
    found = answer.json()
    assert found["bay"] == 1 and answer["Upload-Offset"] == str(found["offset"])
    return found


def test_a_promise_is_no_proof_until_its_bytes_are_in(talk, data, upload):
    proof = OutcomePhoto.objects.get()
    assert proof.photo is None and str(proof.upload_id) == upload
    last = told(talk.upload_all(upload, data, PIECE))
    assert last == {"bay": 1, "offset": len(data), "size": len(data), "done": True}
    proof.refresh_from_db()
    assert proof.photo.sha256 == proof.upload.sha256 and store.open_bytes(proof.photo.sha256) == data
    assert not part_of(upload).exists()
    assert Entry.objects.filter(verb="photo_arrived", book__job=talk.job).count() == 1


def test_one_photo_may_prove_several_places(talk, data):
    lines = ("wash.hardware_off", "wash.gaps_rinsed")
    places = [{"line": line, "panel": "hood.1", "edge": ""} for line in lines]
    entry, upload = talk.promise(data, places=places)
    talk.send(entry)
    talk.upload_all(upload, data)
    assert {proof.photo_id for proof in OutcomePhoto.objects.all()} == {Photo.objects.get().pk}
    assert OutcomePhoto.objects.count() == 2


def test_the_tablet_asks_where_to_go_on(talk, data, upload):
    assert talk.head(upload)["Upload-Offset"] == "0" and talk.head(upload)["Upload-Length"] == str(len(data))
    assert talk.head(upload)["Cache-Control"] == "no-store" and talk.head(upload).content == b""
    talk.patch(upload, 0, data[:PIECE])
    assert talk.head(upload)["Upload-Offset"] == str(PIECE)
    assert told(talk.client.get(f"/sync/upload/{upload}"))["offset"] == PIECE


@pytest.mark.parametrize("offset", [0, PIECE - 1, PIECE + 1, 10**9])
def test_a_piece_that_does_not_follow_changes_nothing(talk, data, upload, offset):
    talk.patch(upload, 0, data[:PIECE])
    answer = talk.patch(upload, offset, data[:PIECE])
    assert answer.status_code == 409 and told(answer)["offset"] == PIECE
    assert part_of(upload).read_bytes() == data[:PIECE]


def test_more_than_was_promised_is_not_written(talk, data, upload):
    answer = talk.patch(upload, 0, data[:PIECE] + b"x" * len(data))
    assert answer.status_code in (409, 413) and Upload.objects.get().received == 0


def test_a_server_killed_in_a_piece_goes_on_at_what_it_counted(talk, data, upload):
    talk.patch(upload, 0, data[:PIECE])
    with part_of(upload).open("ab") as file:
        file.write(b"half of a piece that was never counted" * 100)
    assert talk.head(upload)["Upload-Offset"] == str(PIECE)
    for at in range(PIECE, len(data), PIECE):
        answer = talk.patch(upload, at, data[at : at + PIECE])
    assert told(answer)["done"] and store.open_bytes(Photo.objects.get().sha256) == data


def test_a_server_killed_before_it_counted_gets_the_piece_again(talk, data, upload, monkeypatch):
    def killed(self, *args, **rest):
        raise SystemExit

    with monkeypatch.context() as patch:
        patch.setattr(Upload, "save", killed)
        with pytest.raises(SystemExit):
            talk.patch(upload, 0, data[:PIECE])
    assert part_of(upload).stat().st_size == PIECE and talk.head(upload)["Upload-Offset"] == "0"
    assert told(talk.upload_all(upload, data, PIECE))["done"]


def test_a_piece_is_on_the_disk_before_it_counts(talk, data, upload, monkeypatch):
    seen = []
    real, save = os.fsync, Upload.save

    def flush(handle):
        seen.append("flushed")
        real(handle)

    def count(self, *args, **rest):
        seen.append(f"counted {self.received}")
        save(self, *args, **rest)

    monkeypatch.setattr(os, "fsync", flush)
    monkeypatch.setattr(Upload, "save", count)
    talk.patch(upload, 0, data[:PIECE])
    assert seen == ["flushed", f"counted {PIECE}"]


def test_a_lost_half_begins_again(talk, data, upload):
    talk.patch(upload, 0, data[:PIECE])
    part_of(upload).unlink()
    answer = talk.patch(upload, PIECE, data[PIECE : 2 * PIECE])
    assert answer.status_code == 409 and told(answer)["offset"] == 0
    assert told(talk.upload_all(upload, data, PIECE))["done"]


def test_other_bytes_than_promised_are_dropped_and_may_come_again(talk, data, upload):
    wrong = data[:-1] + bytes([data[-1] ^ 1])
    answer = talk.upload_all(upload, wrong)
    assert answer.status_code == 422 and told(answer)["offset"] == 0
    assert [reason["code"] for reason in answer.json()["reasons"]] == ["photo_digest"]
    assert not part_of(upload).exists() and Photo.objects.count() == 0
    assert told(talk.upload_all(upload, data))["done"]


@pytest.mark.parametrize(
    ("bad", "code"),
    [
        (pictures.jpeg((640, 480)), "photo_small"),
        (pictures.jpeg()[:20_000], "photo_unreadable"),
        (b"<html><script>alert(1)</script></html>" * 20, "photo_unreadable"),
        (b"%!PS-Adobe-3.0 EPSF-3.0\n(x) run\n" * 9, "photo_unreadable"),
    ],
)
def test_what_is_no_photo_is_refused_in_words_and_leaves_nothing(talk, bad, code):
    entry, upload = talk.promise(bad, name="IMG_2.jpg")
    talk.send(entry)
    answer = talk.upload_all(upload, bad)
    assert answer.status_code == 422 and answer.json()["reasons"][0]["code"] == code
    row = Upload.objects.get()
    assert row.refused == answer.json()["reasons"][0]["text"] and row.refused_code == code
    assert Photo.objects.count() == 0 and list(store.walk()) == [] and not part_of(upload).exists()
    proof = OutcomePhoto.objects.get()
    assert proof.photo is None and proof.set_aside == row.refused
    for again in (talk.patch(upload, 0, bad), talk.client.get(f"/sync/upload/{upload}")):
        assert again.status_code == 422 and again.json()["reasons"] == answer.json()["reasons"]
    assert talk.head(upload).status_code == 422
    assert talk.send(talk.entry())[0]["outcome"] == "applied"


def test_done_is_done(talk, data, upload):
    talk.upload_all(upload, data)
    for offset, piece in ((0, data[:PIECE]), (len(data), b""), (7, b"x")):
        answer = talk.patch(upload, offset, piece)
        assert answer.status_code == 200 and told(answer)["done"]
    assert Photo.objects.count() == 1 and Entry.objects.filter(verb="photo_arrived").count() == 1


def test_a_lost_answer_to_the_last_piece_is_asked_for_again(talk, data, upload, monkeypatch):
    """The server counted everything and was killed before it looked: an empty piece finishes."""
    with monkeypatch.context() as patch:
        patch.setattr(uploads, "_finish", lambda row, now: row)
        assert not told(talk.upload_all(upload, data))["done"]
    assert talk.head(upload)["Upload-Offset"] == str(len(data))
    assert told(talk.patch(upload, len(data), b""))["done"]


def test_a_busy_press_keeps_the_bytes(talk, data, upload, monkeypatch):
    def busy(*_, **__):
        raise press.PressBusy("Too much is being worked on at once. Try again in a moment.")

    with monkeypatch.context() as patch:
        patch.setattr(press, "run", busy)
        answer = talk.upload_all(upload, data)
    assert answer.status_code == 503 and answer.json()["reasons"][0]["code"] == "busy"
    assert told(talk.patch(upload, len(data), b""))["done"]


def test_bytes_before_their_promise_are_not_taken(talk):
    for pk in (uuid.uuid4(), "no-uuid", ".."):
        answer = talk.patch(pk, 0, b"x" * 200)
        assert answer.status_code == 404 and answer.json()["reasons"][0]["code"] == "not_announced"
        assert talk.head(pk).status_code == 404


def test_another_workshops_upload_is_not_here(scene, upload):
    stranger = scene.tablet()
    stranger.row = make.tablet(make.workshop())
    stranger.__post_init__()
    assert stranger.head(upload).status_code == 404
    assert stranger.patch(upload, 0, b"x").status_code == 404


def test_the_same_photo_sent_for_the_same_place_again_is_one_photo(talk, data, upload):
    talk.upload_all(upload, data)
    entry, again = talk.promise(data)
    assert talk.send(entry)[0]["outcome"] == "applied"
    assert told(talk.upload_all(again, data))["done"] and Photo.objects.count() == 1


def test_a_photo_that_waited_is_judged_by_when_it_was_taken(talk):
    old = pictures.jpeg(exif=pictures.exif(taken="2026:02:27 09:55:00"))
    entry, upload = talk.promise(old)
    entry["at"] = talk.ms(timedelta(days=3))
    talk.send(entry)
    talk.upload_all(upload, old)
    photo = Photo.objects.get()
    assert [note.code for note in photo.notes] == [] and photo.kept_at == clock.now()


def test_halves_are_swept_after_their_time(talk, data, upload):
    talk.patch(upload, 0, data[:PIECE])
    stray = part_of(upload).with_name(f"{uuid.uuid4()}.part")
    stray.write_bytes(b"x")
    foreign = part_of(upload).with_name("notes.part")
    foreign.write_bytes(b"x")
    for file in (stray, foreign):
        os.utime(file, (make.NOW.timestamp(), make.NOW.timestamp()))
    assert halves.sweep(make.NOW + timedelta(minutes=59)) == 0
    assert halves.sweep(make.NOW + timedelta(minutes=61)) == 2 and part_of(upload).exists()
    assert halves.sweep(make.NOW + timedelta(days=6, hours=23)) == 0
    assert halves.sweep(make.NOW + timedelta(days=7, minutes=1)) == 1
    assert told(talk.upload_all(upload, data, PIECE))["done"]


def test_sweeping_happens_by_itself_once_an_hour(talk, data, upload, monkeypatch):
    swept = []
    monkeypatch.setattr(halves, "sweep", swept.append)
    for minutes in (0, 30, 61, 62):
        uploads.sweep_at_times(make.NOW + timedelta(minutes=minutes))
    assert len(swept) == 2


def test_finishing_twice_at_once_is_finishing_once(tmp_path):
    """Two requests for the last, empty piece: the file is held by one of them at a time."""
    order = []
    file = tmp_path / "x.part"

    def hold(name):
        with halves.alone(file):
            order.append(name)
            threading.Event().wait(0.1)
            order.append(name)

    both = [threading.Thread(target=hold, args=(n,)) for n in "ab"]
    for thread in both:
        thread.start()
    for thread in both:
        thread.join()
    assert order in (list("aabb"), list("bbaa"))


def test_a_promise_sent_twice_makes_one_upload(talk, data):
    entry, _ = talk.promise(data)
    assert [talk.send(entry)[0]["outcome"] for _ in range(3)] == ["applied"] * 3
    assert Upload.objects.count() == 1 and Receipt.objects.count() == 1
