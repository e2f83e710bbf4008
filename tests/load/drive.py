"""Tablets at work all at once: each ticks, notes and photographs at a person's pace, and remembers every answer."""

import io
import json
import os
import random
import statistics
import subprocess
import sys
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path

from PIL import Image, ImageDraw

from tests.keep import bay

LINES = ("decontaminate.iron_tar", "decontaminate.clay")
PAUSE_S = (2.0, 6.0)
PHOTO_EVERY = 8
CAMERA = (4000, 3000)
ALONE = 30


@dataclass
class Timed:
    """Milliseconds of requests, by what they were."""

    entry: list[float] = field(default_factory=list)
    piece: list[float] = field(default_factory=list)
    alone: list[float] = field(default_factory=list)
    least: list[float] = field(default_factory=list)


@dataclass
class Told:
    tablets: int
    seconds: float
    servers: int
    entries: int
    photos: int
    errors: list[str]
    wrong: list[str]
    times: Timed

    def __str__(self) -> str:
        state = "none lost" if not self.wrong else f"{len(self.wrong)} WRONG: {self.wrong[0]}"
        errors = f"{len(self.errors)} errors" + (f" ({self.errors[0]})" if self.errors else "")
        rows = [
            f"{self.tablets} tablets, an entry each {sum(PAUSE_S) / 2:.0f} s, one in {PHOTO_EVERY} a photo of 12 MP, "
            f"{self.seconds:.0f} s, {self.servers} server(s): "
            f"{self.entries} entries, {self.photos} photos, {errors}, {state}",
            f"  an entry under load        {_two(self.times.entry)}",
            f"  an entry, one tablet alone {_two(self.times.alone)}   (floor)",
            f"  the least request          {_two(self.times.least)}   (floor)",
            f"  a piece of a photo         {_two(self.times.piece)}",
        ]
        return "\n".join(rows)


def _two(times: list[float]) -> str:
    if len(times) < 2:
        return "not measured"
    cuts = statistics.quantiles(times, n=100, method="inclusive")
    return f"p50 {cuts[49]:7.1f} ms   p99 {cuts[98]:7.1f} ms   worst {max(times):7.1f} ms"


class Worker(bay.Tablet):
    """A tablet whose requests are timed, and which takes another server for each of them."""

    def take(self, times: Timed, ports: list[int], panel: str) -> "Worker":
        self.times, self.ports, self.panel, self.turn = times, ports, panel, 0
        return self

    def _ask(self, method, address, body=None, *rest, **more):
        self.turn += 1
        self.port = self.ports[self.turn % len(self.ports)]
        began = time.perf_counter()
        try:
            return super()._ask(method, address, body, *rest, **more)
        finally:
            spent = (time.perf_counter() - began) * 1000
            {"POST": self.times.entry, "PATCH": self.times.piece}.get(method, []).append(spent)


def load(
    folder: Path, *, seconds: float, tablets: int = 30, servers: int = 1, more: dict | None = None
) -> Told:
    """Drive a fresh shop in this folder; `more` is environment: a database, a bucket. One data folder a server."""
    environment = _environment(folder / "data", more or {})
    yard = json.loads(_program(environment, "make", str(tablets)).splitlines()[-1])
    running, times = _servers(folder, environment, servers, more or {}), Timed()
    ports = [server.port for server in running]
    workers = [_worker(row, times, ports) for row in yard["tablets"]]
    errors: list[str] = []
    try:
        _floor(workers[0], running[0], times)
        ends, card = time.monotonic() + seconds, picture()
        threads = [
            threading.Thread(target=_work, args=(worker, n, ends, card, errors))
            for n, worker in enumerate(workers)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    finally:
        for server in running:
            server.stop()
    told = [_answered(row, worker) for row, worker in zip(yard["tablets"], workers, strict=True)]
    (folder / "told.json").write_text(json.dumps(told))
    wrong = _program(environment, "check", str(folder / "told.json")).splitlines()
    photos = sum(len(one["photos"]) for one in told)
    return Told(tablets, seconds, servers, sum(len(w.answers) for w in workers), photos, errors, wrong, times)


def _work(tablet: Worker, number: int, ends: float, card: bytes, errors: list[str]) -> None:
    chance, count = random.Random(number), 0
    time.sleep(chance.uniform(0, PAUSE_S[1]))
    while time.monotonic() < ends:
        count += 1
        _enter(tablet, number, count, chance, card)
        try:
            tablet.send()
            tablet.send_photos(most=1)
        except bay.AWAY as fault:
            errors.append(f"{type(fault).__name__}: {fault}")
        time.sleep(chance.uniform(*PAUSE_S))
    for _ in range(20):
        try:
            while tablet.outbox or tablet.uploads:
                tablet.send()
                tablet.send_photos()
            return
        except bay.AWAY as fault:
            errors.append(f"{type(fault).__name__} at the end: {fault}")
            time.sleep(1)


def _enter(tablet: Worker, number: int, count: int, chance: random.Random, card: bytes) -> None:
    if count % PHOTO_EVERY == number % PHOTO_EVERY:
        tablet.take_photo(own(card, f"tablet {number} photo {count}"))
    elif chance.random() < 0.2:
        tablet.enter("note", panels=[tablet.panel], text=f"tablet {number}, note {count}")
    else:
        tablet.enter("tick", line=LINES[count % 2], panels=[tablet.panel], edges=[], answer="done")


def picture() -> bytes:
    """A camera's twelve megapixels: a door with its reflections, so that there is something to compress."""
    image = Image.effect_noise((CAMERA[0] // 8, CAMERA[1] // 8), 24).resize(CAMERA).convert("RGB")
    draw = ImageDraw.Draw(image)
    draw.line([(0, 2000), (CAMERA[0], 1500)], fill=(30, 44, 58), width=60)
    kept = io.BytesIO()
    image.save(kept, "JPEG", quality=80)
    return kept.getvalue()


def own(card: bytes, text: str) -> bytes:
    """The same picture with a comment of its own: other bytes, without drawing twelve megapixels again."""
    words = text.encode()
    return card[:2] + b"\xff\xfe" + (len(words) + 2).to_bytes(2, "big") + words + card[2:]


def _floor(tablet: Worker, server: bay.Server, times: Timed) -> None:
    """What the same entry costs while nobody else is there, and what the least request costs."""
    for n in range(ALONE + 2):
        tablet.enter("tick", line=LINES[n % 2], panels=[tablet.panel], edges=[], answer="done")
        tablet.send()
        began = time.perf_counter()
        server.get("/health/")
        times.least.append((time.perf_counter() - began) * 1000)
    times.alone, times.least, times.entry = times.entry[2:], times.least[2:], []


def _servers(folder: Path, environment: dict, count: int, more: dict) -> list[bay.Server]:
    found = []
    for n in range(count):
        mine = environment
        if n:
            # Another machine: a folder of its own with the same keys, and nothing else in it.
            mine = _environment(folder / f"data{n + 1}", more)
            keys = Path(mine["SHOP_DATA"]) / "keys"
            keys.mkdir(parents=True)
            for key in (folder / "data" / "keys").iterdir():
                (keys / key.name).write_bytes(key.read_bytes())
        log = folder / f"server{n + 1}.log"
        found.append(bay.Server(mine, log=log, threads=8, more=bay.AS_SERVED).start())
    return found


def _worker(row: dict, times: Timed, ports: list[int]) -> Worker:
    return Worker(row["cookie"], row["job"], row["who"], ports[0]).take(times, ports, row["panel"])


def _answered(row: dict, worker: Worker) -> dict:
    photos = [entry["body"]["sha256"] for entry in worker.copies if entry["kind"] == "photo"]
    answers = {key: answer["outcome"] for key, answer in worker.answers.items()}
    return {"pk": row["pk"], "answers": answers, "seq": worker.seq, "photos": photos}


def _environment(data: Path, more: dict) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith("SHOP_")}
    return kept | {"SHOP_DATA": str(data), "PYTHONDONTWRITEBYTECODE": "1"} | more


def _program(environment: dict, *words: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "tests.load.yard", *words], cwd=bay.ROOT, env=environment, capture_output=True,
        text=True, timeout=600, check=False,
    )  # fmt: skip
    if done.returncode and not (words[0] == "check" and done.stdout):
        raise RuntimeError(done.stderr[-2000:])
    return done.stdout
