"""The chain of a record book: canonical bytes, digests, and what is wrong with a chain.

Canonical JSON by RFC 8785, SHA-256 by FIPS 180-4. Bodies hold whole numbers only: RFC 8785 writes numbers as
IEEE 754 doubles, so a fraction or a number beyond 2^53 could be digested as another one than was meant.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from typing import Any, Final

import rfc8785

LARGEST: Final = 2**53 - 1
_DEEPEST: Final = 64


class NotCanonical(ValueError):
    """A value that has no one way of being written; its text says where and why."""


@dataclass(frozen=True, kw_only=True)
class Link:
    """One entry of a book as the chain sees it. Instants are texts made by `instant`; ids are as stored."""

    book: int | str
    number: int
    received_at: str
    happened_at: str
    device_at: str | None
    sure: bool
    person: int | None
    proven: str
    tablet: int | None
    verb: str
    schema: int
    body: str
    body_digest: str
    previous: str
    digest: str


@dataclass(frozen=True)
class Fault:
    """What is wrong at one entry of a chain; `number` is 0 where it concerns the book as a whole."""

    number: int
    code: str
    text: str


def canonical(value: Any) -> bytes:
    """The one UTF-8 spelling of a value; NotCanonical for fractions, huge numbers and odd types.

    >>> canonical({"b": 1, "a": [True, None, "é"]}).decode()
    '{"a":[true,null,"é"],"b":1}'
    """
    _look_through(value, "", 0)
    return rfc8785.dumps(value)


def digest(value: Any) -> str:
    """SHA-256 of the canonical bytes, in hexadecimal."""
    return sha256(canonical(value)).hexdigest()


def instant(moment: datetime) -> str:
    """An instant in the one spelling that is digested: UTC, always six places of seconds.

    >>> instant(datetime(2026, 5, 15, 9, 30, tzinfo=UTC))
    '2026-05-15T09:30:00.000000Z'
    """
    if moment.utcoffset() is None:
        raise NotCanonical("A moment in the record needs its offset.")
    return moment.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def entry_digest(
    *,
    book: int | str,
    number: int,
    received_at: str,
    happened_at: str,
    device_at: str | None,
    sure: bool,
    person: int | None,
    proven: str,
    tablet: int | None,
    verb: str,
    schema: int,
    body_digest: str,
    previous: str,
) -> str:
    """The digest that binds an entry to all before it: every column but the body, which is in by its digest."""
    return digest(
        {
            "book": book,
            "number": number,
            "received_at": received_at,
            "happened_at": happened_at,
            "device_at": device_at,
            "sure": sure,
            "person": person,
            "proven": proven,
            "tablet": tablet,
            "verb": verb,
            "schema": schema,
            "body_digest": body_digest,
            "previous": previous,
        }
    )


def verify(links: Iterable[Link], *, length: int | None = None, head: str | None = None) -> list[Fault]:
    """Every fault of one book, entries in order of number; an empty list is a sound chain.

    `length` and `head` are what the book itself claims: without them entries cut off at the end stay unseen.
    After a fault the walk goes on from what is stored, so one change is named once.
    """
    faults: list[Fault] = []
    previous, count = "", 0
    for link in links:
        count += 1
        if link.number != count:
            faults.append(
                Fault(
                    link.number, "number", f"Entry {count} is missing: the next one is number {link.number}."
                )
            )
            count = link.number
        if link.previous != previous:
            faults.append(
                Fault(link.number, "previous", f"Entry {link.number} does not follow from the one before it.")
            )
        faults += _own_faults(link)
        previous = link.digest
    if length is not None and length != count:
        faults.append(Fault(0, "length", f"The book says {length} entries, its last one is number {count}."))
    if head is not None and head != previous:
        faults.append(Fault(0, "head", "The book's head is not the digest of its last entry."))
    return faults


def _own_faults(link: Link) -> list[Fault]:
    faults = []
    if sha256(link.body.encode("utf-8", "surrogatepass")).hexdigest() != link.body_digest:
        faults.append(Fault(link.number, "body", f"The content of entry {link.number} was changed."))
    if _digest_of(link) != link.digest:
        faults.append(
            Fault(link.number, "digest", f"Entry {link.number} was changed: its digest does not fit.")
        )
    return faults


_COLUMNS: Final = tuple(name for name in Link.__dataclass_fields__ if name not in ("body", "digest"))


def _digest_of(link: Link) -> str:
    try:
        return entry_digest(**{name: getattr(link, name) for name in _COLUMNS})
    except NotCanonical:
        return ""


def _look_through(value: Any, at: str, depth: int) -> None:
    if depth > _DEEPEST:
        raise NotCanonical(f"The record takes no more than {_DEEPEST} levels inside each other.")
    if value is None or isinstance(value, bool):
        return
    if isinstance(value, str):
        _whole_text(value, at)
    elif isinstance(value, int):
        if abs(value) > LARGEST:
            raise NotCanonical(f"The number{at} is too large for the record: 2^53 - 1 is the largest.")
    elif isinstance(value, dict):
        for name, inner in value.items():
            if not isinstance(name, str):
                raise NotCanonical(f"A name{at} in the record is not a text: {name!r:.40}.")
            _whole_text(name, at)
            _look_through(inner, f" at {name:.40}", depth + 1)
    elif isinstance(value, list | tuple):
        for inner in value:
            _look_through(inner, at, depth + 1)
    else:
        raise NotCanonical(
            f"The record takes whole numbers, texts, yes and no, lists and tables; {type(value).__name__}{at} "
            "is none of them. Measures go in as integers of a named unit."
        )


def _whole_text(text: str, at: str) -> None:
    if not text.isascii() and any("\ud800" <= character <= "\udfff" for character in text):
        raise NotCanonical(f"The text{at} holds half a character.")
