"""Writing the record book. Every verb ends here, inside its own transaction."""

import json
import secrets
from hashlib import sha256

from shop.people.identity import By
from shop.record import chain
from shop.record.models import Book, Entry, Private


def open_book(workshop, job=None) -> Book:
    return Book.objects.create(workshop=workshop, job=job)


def book_of(workshop, job=None) -> Book:
    """The book, locked until the transaction ends, so that its numbers have no gap and no fork."""
    books = Book.objects.select_for_update(no_key=True)
    return books.get(job=job) if job else books.get(workshop=workshop, job__isnull=True)


def write(
    *,
    workshop,
    verb: str,
    body: dict,
    by: By | None,
    now,
    job=None,
    happened_at=None,
    device_at=None,
    sure: bool = True,
) -> Entry:
    """Chain one entry to the job's book, or to the workshop's. `by` is None only for the first start."""
    book = book_of(workshop, job)
    text = chain.canonical(body).decode()
    entry = Entry(
        book=book,
        number=book.length + 1,
        received_at=now,
        happened_at=happened_at or now,
        device_at=device_at,
        sure=sure,
        person=by.person if by else None,
        proven=by.how if by else "first_start",
        tablet=by.tablet if by else None,
        verb=verb,
        body=text,
        body_digest=sha256(text.encode()).hexdigest(),
        previous=book.head,
    )
    entry.digest = entry_digest(entry)
    entry.save(force_insert=True)
    Book.objects.filter(pk=book.pk).update(length=entry.number, head=entry.digest)
    return entry


def entry_digest(entry: Entry) -> str:
    return chain.entry_digest(
        book=entry.book_id,
        number=entry.number,
        received_at=chain.instant(entry.received_at),
        happened_at=chain.instant(entry.happened_at),
        device_at=chain.instant(entry.device_at) if entry.device_at else None,
        sure=entry.sure,
        person=entry.person_id,
        proven=entry.proven,
        tablet=entry.tablet_id,
        verb=entry.verb,
        schema=entry.schema,
        body_digest=entry.body_digest,
        previous=entry.previous,
    )


def body_of(entry: Entry) -> dict:
    return json.loads(entry.body)


def keep_private(workshop, value: str) -> Private:
    """Put a value about a person apart; hashed bodies hold `told(private)` instead."""
    salt = secrets.token_hex(16)
    commit = sha256((salt + value).encode()).hexdigest()
    return Private.objects.create(workshop=workshop, salt=salt, value=value, commit=commit)


def told(private: Private | None) -> dict | None:
    """What a hashed body may hold of a private value."""
    return {"private": private.pk, "commit": private.commit} if private else None
