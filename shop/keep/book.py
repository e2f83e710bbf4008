"""The book as a page: entries chosen, told in plain words, in a number of queries that does not grow with them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from django.core.paginator import Page, Paginator
from django.db.models import Q, QuerySet

from shop.keep.names import CarNames, ShopNames
from shop.keep.past import pasts
from shop.people.models import Person
from shop.record.models import Book, Entry
from shop.record.telling import Names, Told
from shop.record.words import tell
from shop.work.models.fitting import Fitting

A_PAGE = 50
MOST_PRINTED = 5000
# A shop's clock and a tablet's never agree to the second; less than this is the same moment.
SAME_MOMENT = timedelta(minutes=1)
HOW = {
    "claimed": "name picked",
    "signed_in": "signed in at the desk",
    "pin": "proven by PIN",
    "password": "proven by password",
    "first_start": "at first start",
    "command": "at the machine itself",
}


@dataclass(frozen=True)
class Shown:
    """One entry as it is read. `arrived` and `clock` say the other times, where they differ."""

    entry: Entry
    told: Told
    who: str
    how: str
    arrived: bool
    clock: bool


@dataclass(frozen=True)
class Choice:
    """What is looked for: empty means everything."""

    person: str = ""
    verb: str = ""
    panel: str = ""

    def __bool__(self) -> bool:
        return bool(self.person or self.verb or self.panel)


def chosen(book: Book, choice: Choice) -> QuerySet[Entry]:
    rows = Entry.objects.of(book).with_people()
    if choice.person.isdecimal() and len(choice.person) < 19:
        rows = rows.filter(person=int(choice.person))
    if choice.verb:
        rows = rows.filter(verb=choice.verb)
    if choice.panel:
        # Bodies are canonical JSON: a place stands in it as "hood.1", a panel as "hood".
        rows = rows.filter(Q(body__contains=f'"{choice.panel}.') | Q(body__contains=f'"{choice.panel}"'))
    return rows


def page_of(rows: QuerySet[Entry], number: object, *, whole: bool = False) -> Page:
    """One page of entries, the latest last as in any book; `whole` for printing."""
    return Paginator(rows, MOST_PRINTED if whole else A_PAGE).get_page(number)


def shown(entries: Sequence[Entry], book: Book, *, values: bool, language: str) -> list[Shown]:
    """The entries in words. `values` says whether whoever reads may see what is known about customers."""
    names = names_for(book, entries, values=values, language=language)
    before = pasts(book, entries, names)
    found = []
    for entry in entries:
        names.past = before.get(entry.pk, {})
        found.append(_shown(entry, tell(entry.verb, entry.body, names)))
    return found


def names_for(book: Book, entries: Iterable[Entry], *, values: bool, language: str) -> CarNames | ShopNames:
    if book.job_id:
        return CarNames(book.job, entries, values=values, language=language)
    return ShopNames(book.workshop, entries, values=values)


def _shown(entry: Entry, told: Told) -> Shown:
    clock = entry.device_at
    return Shown(
        entry=entry,
        told=told,
        who=entry.person.name if entry.person else "the program",
        how=_how(entry),
        arrived=entry.received_at - entry.happened_at >= SAME_MOMENT,
        clock=bool(clock and abs(clock - entry.happened_at) >= SAME_MOMENT),
    )


def _how(entry: Entry) -> str:
    if not entry.person:
        return ""
    how = HOW.get(entry.proven, entry.proven)
    return f"{how} on {entry.tablet.name}" if entry.tablet else how


def choices(book: Book, names: Names) -> Mapping[str, list[tuple[str, str]]]:
    """What can be chosen in this book: people, kinds of entry, panels."""
    rows = Entry.objects.filter(book=book)
    people = Person.objects.filter(entries__book=book).distinct().order_by("name")
    verbs = sorted(rows.order_by().values_list("verb", flat=True).distinct())
    panels: Iterable[str] = ()
    if book.job_id:
        panels = (
            Fitting.objects.filter(job=book.job_id)
            .values_list("panel__code", flat=True)
            .order_by()
            .distinct()
        )
    return {
        "person": [(str(person.pk), person.name) for person in people],
        "verb": [(verb, verb.replace("_", " ").capitalize()) for verb in verbs],
        "panel": sorted(((code, names.place(code)) for code in panels), key=lambda one: one[1]),
    }
