"""Heads of books that have left the database: proof against somebody who writes a whole new chain.

Each backup notes the head and length of every book beside the shop's data, and holds them itself, on another disk.
A head once known has to be found at its number for ever.
"""

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass

from shop import store
from shop.record.models import Entry

AT_ONCE = 500


@dataclass(frozen=True)
class Head:
    """Entry `number` of book `book` had the digest `head`; `source` says who knows, as in "backup of 3 March"."""

    book: int
    number: int
    head: str
    source: str = ""


FILE, DAMAGED = "known-heads.json", "known-heads.damaged"


def known() -> list[Head]:
    """Every head noted here by backups; none where no backup was made yet. ValueError when the file is damaged."""
    data = store.noted(FILE)
    try:
        return [Head(**head) for head in json.loads(data)["heads"]] if data is not None else []
    except (KeyError, TypeError) as fault:
        raise ValueError(f"{FILE} is damaged: {fault}") from fault


def note(heads: Iterable[Head]) -> None:
    """Add to what is known. A second head for the same entry is kept beside the first: it is evidence."""
    try:
        before = known()
    except ValueError:
        # Kept aside and not thrown away: `prove` has said so, and the backups hold the same heads.
        store.note(DAMAGED, store.noted(FILE))
        before = []
    there = {(head.book, head.number, head.head) for head in before}
    fresh = [h for h in heads if h.number and (h.book, h.number, h.head) not in there]
    if fresh:
        told = {"heads": [asdict(head) for head in [*before, *fresh]]}
        store.note(FILE, json.dumps(told, indent=0).encode())


def missing(heads: Iterable[Head]) -> list[Head]:
    """The heads that do not stand at their number in the books as they are now."""
    wanted = list(heads)
    lost = []
    for start in range(0, len(wanted), AT_ONCE):
        some = wanted[start : start + AT_ONCE]
        rows = Entry.objects.filter(digest__in={head.head for head in some})
        there = set(rows.values_list("book_id", "number", "digest"))
        lost += [head for head in some if (head.book, head.number, head.head) not in there]
    return lost
