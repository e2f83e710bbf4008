"""Reading what a tablet posts. Whatever arrives, the answer is a message or a sentence, never a traceback."""

import json
import re
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from shop.record import chain

MOST_ENTRIES = 50
FORMAT = 1
KEY = re.compile(r"[0-9A-Za-z-]{8,64}")
LARGEST = chain.LARGEST
_SIGNED = ("v", "kind", "job", "who", "at", "body")


class Unfit(Exception):
    """The whole message cannot be taken; `status` is the answer's, the text its sentence."""

    def __init__(self, text: str, status: int = 400) -> None:
        super().__init__(text)
        self.status = status


@dataclass(frozen=True)
class Sent:
    """One entry as it came. `fault` says why its content cannot be taken; key and number are good all the same,
    so that the answer can be kept and the tablet goes on to the next. `steady`: the tablet's clock was not set
    between press and sending; said at sending, so it is no part of what was signed."""

    key: str
    seq: int
    kind: str
    job: int
    who: int
    at: int
    body: dict[str, Any]
    digest: str
    fault: str = ""
    steady: bool = False


@dataclass(frozen=True)
class Message:
    """`now` is the tablet's clock at sending, in ms; `unsent` how many entries it holds, these included, or None."""

    now: int
    unsent: int | None
    entries: tuple[Sent, ...]


def read(data: bytes) -> Message:
    """The message in these bytes, or Unfit."""
    try:
        told = json.loads(data, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise Unfit("This is not JSON.") from None
    if not isinstance(told, dict) or not isinstance(told.get("entries"), list):
        raise Unfit("A message holds the tablet's time as now, and a list of entries.")
    if len(told["entries"]) > MOST_ENTRIES:
        raise Unfit(f"At most {MOST_ENTRIES} entries are taken at a time.", 413)
    if not is_whole(told.get("now")):
        raise Unfit("The message does not say what time it is on the tablet.")
    unsent = told.get("unsent")
    if unsent is not None and not is_whole(unsent, most=10**6):
        raise Unfit("The count of unsent entries is not a count.")
    return Message(told["now"], unsent, tuple(_sent(entry) for entry in told["entries"]))


def is_whole(value: object, least: int = 0, most: int = LARGEST) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and least <= value <= most


def _sent(entry: object) -> Sent:
    if not isinstance(entry, dict):
        raise Unfit("Each entry is a table.")
    key, seq = entry.get("key"), entry.get("seq")
    if not isinstance(key, str) or not KEY.fullmatch(key):
        raise Unfit("An entry has no key of its own.")
    if not is_whole(seq, least=1):
        raise Unfit("An entry has no number of its own.")
    if entry.get("v") != FORMAT or isinstance(entry.get("v"), bool):
        raise Unfit("This page speaks another version. Reload it; nothing on the tablet is lost.")
    fault = _fault(entry)
    body = entry.get("body")
    return Sent(
        key=key,
        seq=seq,
        kind=entry["kind"] if isinstance(entry.get("kind"), str) else "",
        job=entry["job"] if is_whole(entry.get("job")) else 0,
        who=entry["who"] if is_whole(entry.get("who")) else 0,
        at=entry["at"] if is_whole(entry.get("at")) else 0,
        body=body if isinstance(body, dict) else {},
        digest=_digest(entry, whole=not fault),
        fault=fault,
        steady=entry.get("steady") is True,
    )


def _fault(entry: dict[str, Any]) -> str:
    if not isinstance(entry.get("kind"), str) or not isinstance(entry.get("body"), dict):
        return "This entry does not say what it is."
    if not all(is_whole(entry.get(name)) for name in ("job", "who", "at")):
        return "This entry does not say which car, who, or when."
    try:
        text = chain.canonical([entry["kind"], entry["body"]])
    except chain.NotCanonical as fault:
        return str(fault)
    return "This entry holds a sign that cannot be kept." if b"\\u0000" in text else ""


def _digest(entry: dict[str, Any], *, whole: bool) -> str:
    """Of the fields that say what was done: the number may change when a tablet starts counting afresh."""
    signed = {name: entry.get(name) for name in _SIGNED}
    if whole:
        return chain.digest(signed)
    return sha256(json.dumps(signed, sort_keys=True).encode()).hexdigest()


def _no_number(name: str) -> None:
    raise ValueError(name)
