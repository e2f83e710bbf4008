"""A real server that can be killed, and a tablet that talks to it over the network and forgets nothing."""

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import time
import uuid
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
PIECE = 128 * 1024
# Workers are replaced now and then, as `make run` does it.
AS_SERVED = ("--timeout", "60", "--max-requests", "1000", "--max-requests-jitter", "100")
AWAY = (OSError, http.client.HTTPException, ValueError)


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return found.getsockname()[1]


@dataclass
class Server:
    """gunicorn as it is run in a shop, in a session of its own, so that all of it can be killed at once."""

    environment: dict[str, str]
    port: int = field(default_factory=free_port)
    process: subprocess.Popen | None = None
    log: Path | None = None
    threads: int = 4
    more: tuple[str, ...] = ()

    def start(self) -> "Server":
        command = [sys.executable, "-m", "gunicorn", "shop.wsgi", "--worker-class", "gthread", "--workers", "2",
                   "--threads", str(self.threads), "--bind", f"127.0.0.1:{self.port}",
                   "--no-control-socket", *self.more]  # fmt: skip
        out = open(self.log, "ab") if self.log else subprocess.DEVNULL  # noqa: SIM115 - the process keeps it
        self.process = subprocess.Popen(
            command, cwd=ROOT, env=self.environment, start_new_session=True, stdout=out, stderr=out
        )
        deadline = time.monotonic() + 60
        while time.monotonic() < deadline:
            try:
                if self.get("/health/") == 200:
                    return self
            except AWAY:
                time.sleep(0.05)
        raise AssertionError("the server did not come up")

    def get(self, address: str) -> int:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=10)
        try:
            connection.request("GET", address)
            return connection.getresponse().status
        finally:
            connection.close()

    def kill(self) -> None:
        """kill -9 of the master and of every worker at the same moment."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()

    def stop(self) -> None:
        if self.process and self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGTERM)
            try:
                self.process.wait(20)
            except subprocess.TimeoutExpired:
                self.kill()


@dataclass
class Tablet:
    """An outbox: what was entered stays in it until the shop has answered, and a copy stays after that."""

    cookie: str
    job: int
    who: int
    port: int
    seq: int = 0
    outbox: list[dict] = field(default_factory=list)
    copies: list[dict] = field(default_factory=list)
    answers: dict[str, dict] = field(default_factory=dict)
    uploads: dict[str, bytes] = field(default_factory=dict)

    def enter(self, kind: str, **body) -> dict:
        self.seq += 1
        entry = {"v": 1, "key": str(uuid.uuid4()), "seq": self.seq, "kind": kind, "job": self.job,
                 "who": self.who, "at": _ms(), "body": body}  # fmt: skip
        self.outbox.append(entry)
        return entry

    def take_photo(self, data: bytes) -> None:
        upload = str(uuid.uuid4())
        places = [{"line": "wash.hardware_off", "panel": "hood.1", "edge": ""}]
        self.enter("photo", upload=upload, sha256=sha256(data).hexdigest(), size=len(data), places=places)
        self.uploads[upload] = data

    def send(self, most: int = 10) -> dict:
        """One message; what was answered leaves the outbox. Raises one of AWAY when there is no whole answer."""
        told = {"now": _ms(), "unsent": len(self.outbox), "entries": self.outbox[:most]}
        status, answer = self._ask("POST", "/sync/entries", json.dumps(told).encode(), "application/json")
        if status != 200:
            raise ValueError(f"answered {status} {_why(answer)}")
        answered = {result["key"]: result for result in answer["results"]}
        self.answers |= answered
        self.copies += [entry for entry in self.outbox if entry["key"] in answered]
        self.outbox = [entry for entry in self.outbox if entry["key"] not in answered]
        if answer.get("expect"):
            self._go_back(answer["expect"])
        return answer

    def send_photos(self, most: int = 2) -> None:
        for upload, data in list(self.uploads.items())[:most]:
            status, answer = self._ask("HEAD", f"/sync/upload/{upload}")
            if status == 404:
                continue  # its entry has not arrived yet
            at = int(answer["Upload-Offset"])
            while True:
                status, told = self._ask("PATCH", f"/sync/upload/{upload}", data[at : at + PIECE], offset=at)
                if status not in (200, 409):
                    raise ValueError(f"answered {status} {_why(told)}")
                at = told["offset"]
                if told["done"]:
                    del self.uploads[upload]
                    break

    def _go_back(self, expect: int) -> None:
        """The shop was put back to an earlier day: everything from that number on is sent again."""
        again = [entry for entry in self.copies if entry["seq"] >= expect]
        self.copies = [entry for entry in self.copies if entry["seq"] < expect]
        self.outbox = sorted([*again, *self.outbox], key=lambda entry: entry["seq"])

    def _ask(self, method, address, body=None, kind="application/offset+octet-stream", offset=None):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        headers = {"Cookie": f"tablet={self.cookie}", "Sec-Fetch-Site": "same-origin"}
        headers |= {"Content-Type": kind} if body is not None else {}
        headers |= {"Upload-Offset": str(offset)} if offset is not None else {}
        try:
            connection.request(method, address, body, headers)
            answer = connection.getresponse()
            data = answer.read()
            told = dict(answer.headers) if method == "HEAD" else json.loads(data) if data else {}
            return answer.status, told
        finally:
            connection.close()


def _ms() -> int:
    return round(time.time() * 1000)


def _why(answer: dict) -> str:
    return " ".join(f"{reason['code']}: {reason['text']}" for reason in answer.get("reasons", []))
