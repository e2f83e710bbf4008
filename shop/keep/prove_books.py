"""Books, their triggers, the values kept apart from them, and the documents they name."""

import json
from collections.abc import Iterator
from hashlib import sha256
from typing import Any

from django.db import connection

from shop.documents.digest import digest as document_digest
from shop.documents.models import Document
from shop.keep.checks import Check, Tell
from shop.record import chain, triggers
from shop.record.models import Book, Entry, Private

COLUMNS = (
    "number", "received_at", "happened_at", "device_at", "sure", "person", "proven", "tablet", "verb", "schema",
    "body", "body_digest", "previous", "digest",
)  # fmt: skip


def triggers_present(tell: Tell) -> Check:
    """The live database is asked: a table rebuilt by hand or by a migration has lost its triggers without a word."""
    check = Check("triggers", checked=len(triggers.names()))
    for name in sorted(set(triggers.names()) - triggers.present()):
        check.add(
            "trigger", name, f"The trigger {name} is missing: rows of its table could be changed unseen."
        )
    return check


def rows_point_somewhere(tell: Tell) -> Check:
    """Rows that name a row that is not there. PostgreSQL never lets it come to that."""
    check = Check("rows")
    if connection.vendor != "sqlite":
        return check
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA foreign_key_check")
        for table, row, parent, _ in cursor.fetchall():
            check.add(table, row or "", f"{table} {row} names a row of {parent} that is not there.")
        check.checked = len(connection.introspection.table_names(cursor))
    return check


def chains(tell: Tell) -> Iterator[Check]:
    """Every entry against its digest and the one before it; then every book against its length and head."""
    entries, books = Check("entries"), Check("books")
    for book in Book.objects.select_related("job", "workshop").order_by("pk"):
        books.checked += 1
        name = f"Job {book.job.number}" if book.job else f"The book of {book.workshop.name}"
        for fault in chain.verify(_links(book, entries, tell), length=book.length, head=book.head):
            if fault.number:
                entries.add("entry", _pk(book, fault.number), f"{name}: {fault.text}")
            else:
                books.add("book", book.pk, f"{name}: {fault.text}")
    yield entries
    yield books


def _links(book: Book, check: Check, tell: Tell) -> Iterator[chain.Link]:
    rows = Entry.objects.of(book).values(*COLUMNS).iterator(chunk_size=500)
    for row in check.each(rows, tell):
        yield chain.Link(
            book=book.pk,
            number=row["number"],
            received_at=chain.instant(row["received_at"]),
            happened_at=chain.instant(row["happened_at"]),
            device_at=chain.instant(row["device_at"]) if row["device_at"] else None,
            sure=row["sure"],
            person=row["person"],
            proven=row["proven"],
            tablet=row["tablet"],
            verb=row["verb"],
            schema=row["schema"],
            body=row["body"],
            body_digest=row["body_digest"],
            previous=row["previous"],
            digest=row["digest"],
        )


def _pk(book: Book, number: int) -> int:
    return Entry.objects.filter(book=book, number=number).values_list("pk", flat=True).first() or 0


def known_heads(tell: Tell, heads: list[Any]) -> Check:
    """Heads that left the database: only they notice somebody who wrote a whole new chain."""
    check = Check("known heads")
    for head in check.each(heads, tell):
        if not Entry.objects.filter(book=head.book, number=head.number, digest=head.head).exists():
            source = head.source or "elsewhere"
            text = f"Entry {head.number} of book {head.book} is not the one known from {source}."
            check.add("head", f"{head.book}/{head.number}", text)
    return check


def privates(tell: Tell) -> Check:
    """Values about people against the promise in the book. An erased one has nothing left to compare."""
    check = Check("private values")
    commits: dict[int, str] = {}
    for row in check.each(Private.objects.order_by("pk").iterator(chunk_size=500), tell):
        commits[row.pk] = row.commit
        if row.erased_at is None and sha256((row.salt + row.value).encode()).hexdigest() != row.commit:
            check.add("private", row.pk, f"A value kept about somebody was changed (number {row.pk}).")
    named = Entry.objects.filter(body__contains='"private"').order_by("pk")
    for entry in named.only("number", "body").iterator(chunk_size=500):
        for told in _told(_read(entry.body)):
            if commits.get(told["private"]) != told["commit"]:
                text = f"Entry {entry.number} names value {told['private']}, and that is not the one kept."
                check.add("private", told["private"], text)
    return check


def _told(value: Any) -> Iterator[dict[str, Any]]:
    if isinstance(value, dict):
        if set(value) == {"private", "commit"}:
            yield value
        for inner in value.values():
            yield from _told(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _told(inner)


def _read(body: str) -> Any:
    try:
        return json.loads(body)
    except ValueError:
        return None


def documents(tell: Tell) -> Check:
    """Plans, terms and sheets against their digests: what was obeyed is what is kept."""
    check = Check("documents")
    for row in check.each(Document.objects.filter(published_at__isnull=False).order_by("pk"), tell):
        if document_digest(row.body) != row.digest:
            check.add(
                "document", row.pk, f"{row.get_kind_display()} {row} was changed after it was published."
            )
    return check
