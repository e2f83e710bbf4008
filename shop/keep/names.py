"""What people, tablets, edges and values are called in a book, looked up once for all entries that are shown."""

import json
from collections.abc import Iterable, Iterator
from typing import Any

from shop.find.readings import values_in_words
from shop.find.words import Reader
from shop.intake.models import Job
from shop.intake.names import body_of, edge_names
from shop.people.models import Person, Tablet, Workshop
from shop.record.models import Entry, Private
from shop.record.telling import Body, Names

ERASED = "erased"
APART = "kept apart"


class _Looked:
    """The rows behind the numbers in bodies. Everybody of the workshop: there are few, and it is one query."""

    def __init__(self, workshop: Workshop | int, entries: Iterable[Entry], *, values: bool) -> None:
        pk = workshop if isinstance(workshop, int) else workshop.pk
        self.people = dict(Person.objects.filter(workshop=pk).values_list("pk", "name"))
        self.tablets = dict(Tablet.objects.filter(workshop=pk).values_list("pk", "name"))
        self.may_see = values
        self.values: dict[int, str] = {}
        if values:
            self.look_up(references(entry.body for entry in entries))

    def look_up(self, wanted: Iterable[int]) -> None:
        rows = Private.objects.filter(pk__in=set(wanted) - set(self.values))
        self.values |= {row.pk: ERASED if row.erased_at else row.value for row in rows}


class _Named(Names):
    looked: _Looked

    def person(self, pk: int) -> str:
        return self.looked.people.get(pk, super().person(pk))

    def tablet(self, pk: int) -> str:
        return self.looked.tablets.get(pk, super().tablet(pk))

    def value(self, reference: Body | None) -> str:
        if not reference:
            return ""
        return self.looked.values.get(reference["private"], ERASED) if self.looked.may_see else APART


class ShopNames(_Named):
    """For the book of a workshop."""

    def __init__(self, workshop: Workshop, entries: Iterable[Entry], *, values: bool) -> None:
        self.looked = _Looked(workshop, entries, values=values)


class CarNames(_Named, Reader):
    """For the book of a job, with the words of its own plan and body."""

    def __init__(self, job: Job, entries: Iterable[Entry], *, values: bool, language: str) -> None:
        Reader.__init__(self, job.plan.body, body_of(job.body), language)
        self.looked = _Looked(job.workshop_id, entries, values=values)
        self.units = job.workshop.unit_system
        self._edges: dict[str, dict[str, str]] = {}

    def edge(self, place: str, edge: str) -> str:
        code = place.partition(".")[0]
        if code not in self._edges:
            self._edges[code] = edge_names(self.body, code, self.language)
        said = self._edges[code].get(edge, edge.replace("-", " "))
        return said[:1].lower() + said[1:]

    def measured(self, values: Body) -> str:
        return values_in_words(dict(sorted(values.items())), self.units)


def references(bodies: Iterable[str]) -> Iterator[int]:
    """Every value about a person that these bodies point to."""
    for text in bodies:
        if '"private"' in text:
            yield from _in(json.loads(text))


def _in(value: Any) -> Iterator[int]:
    if isinstance(value, dict):
        if set(value) == {"private", "commit"}:
            yield value["private"]
        for inner in value.values():
            yield from _in(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _in(inner)
