"""Working at a tablet while the server is killed again and again; then nothing that was answered may be missing."""

import json
import random
import threading
import time
from collections import Counter
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from shop import clock, folder, store
from shop.keep.prove import prove
from shop.models import Entry, Job, Person, Photo, Receipt, Tablet, Upload
from shop.offline import halves
from shop.people.tablets import cookie_of
from tests import make_finished
from tests.demo_on_disk import DemoShop
from tests.keep import bay

LINE = {"line": "wash.washed", "panels": [], "edges": []}


@dataclass
class Told:
    kills: int = 0
    answered: int = 0
    resent: int = 0
    photos: int = 0
    back_s: float = 0.0


def kill_while_working(shop: DemoShop, blocker, *, rounds: int, seed: int, log: Path) -> Told:
    """`rounds` kills at random moments of a tablet's work; all is checked at the end. What happened, in figures."""
    chance = random.Random(seed)
    with shop.opened(blocker):
        row, job = Tablet.objects.first(), Job.objects.order_by("pk")[1]
        who = Person.objects.get(name="Ines Moreau").pk
        cookie = cookie_of(row)
    server = bay.Server(shop.environment(), log=log).start()
    tablet = bay.Tablet(cookie, job.pk, who, server.port)
    told, waits = Told(), []
    try:
        for number in range(rounds):
            worker = threading.Thread(target=_work, args=(tablet, number, chance.randrange(1 << 30)))
            worker.start()
            _wait_for_answers(tablet, chance.randrange(1, 25))
            # Some die between two messages, some within one, some while a photo comes in.
            time.sleep(chance.uniform(0, 0.15))
            server.kill()
            told.kills += 1
            worker.join()
            begun = time.monotonic()
            server.start()
            waits.append(time.monotonic() - begun)
            told.resent += len(tablet.outbox)
        _empty(tablet)
    finally:
        server.stop()
    told.answered, told.back_s = len(tablet.answers), sorted(waits)[len(waits) // 2]
    with shop.opened(blocker):
        _check(tablet, told)
    return told


def _wait_for_answers(tablet: bay.Tablet, more: int) -> None:
    wanted, deadline = len(tablet.answers) + more, time.monotonic() + 20
    while len(tablet.answers) < wanted and time.monotonic() < deadline:
        time.sleep(0.005)


def _work(tablet: bay.Tablet, number: int, seed: int) -> None:
    """Enter and send until the server goes away."""
    chance, count = random.Random(seed), 0
    while count < 400:
        count += 1
        if count % 12 == 1:
            tablet.take_photo(make_finished.picture(f"round {number} photo {count} of {seed}"))
        elif chance.random() < 0.5:
            tablet.enter("note", panels=["hood.1"], text=f"round {number}, note {count} of {seed}")
        else:
            tablet.enter("tick", **LINE)
        try:
            tablet.send(most=chance.choice((1, 3, 10)))
            if chance.random() < 0.3:
                tablet.send_photos(most=1)
        except bay.AWAY:
            return


def _empty(tablet: bay.Tablet) -> None:
    deadline = time.monotonic() + 120
    while tablet.outbox or tablet.uploads:
        assert time.monotonic() < deadline, f"{len(tablet.outbox)} entries, {len(tablet.uploads)} photos left"
        try:
            tablet.send(most=50)
            tablet.send_photos(most=5)
        except bay.AWAY:
            time.sleep(0.1)


def _check(tablet: bay.Tablet, told: Told) -> None:
    """Every answered entry is there, once; every photo whole; nothing half is left after an hour; all proves."""
    outcomes = Counter(answer["outcome"] for answer in tablet.answers.values())
    assert set(outcomes) <= {"applied", "same"}, outcomes
    receipts = {row.key: row for row in Receipt.objects.filter(tablet__isnull=False).select_related("entry")}
    assert set(tablet.answers) == set(receipts)
    assert all(receipts[key].entry_id for key in tablet.answers)
    assert sorted(row.seq for row in receipts.values()) == list(range(1, tablet.seq + 1))
    notes = Counter(json.loads(body)["text"] for body in _bodies("note"))
    assert set(notes.values()) == {1} and len(notes) == len(
        [entry for entry in tablet.copies if entry["kind"] == "note"]
    )
    sent = [entry["body"]["sha256"] for entry in tablet.copies if entry["kind"] == "photo"]
    told.photos = len(sent)
    assert not Upload.objects.waiting().exists()
    for digest in sent:
        assert Photo.objects.filter(sha256=digest).count() == 1
        assert all(store.has(digest, variant) for variant in (store.ORIGINAL, store.SCREEN, store.PRINT))
        assert store.is_sound(digest)
    halves.sweep(clock.now() + timedelta(hours=1, minutes=1))
    assert not list(halves.folder().glob("*.part"))
    assert not [path for shelf in store.SHELVES for path in folder.path(shelf).rglob(f"{folder.UNFINISHED}*")]
    proof = prove()
    assert proof["ok"], [one for check in proof["checks"] for one in check["wrong"]]


def _bodies(verb: str):
    return Entry.objects.filter(verb=verb).values_list("body", flat=True)
