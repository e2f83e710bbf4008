"""The cover of whole cars over time, read from papers, films and what happened since."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from zoneinfo import ZoneInfo

from shop.documents.models import Document
from shop.warranty.aftercare import CoverEvent
from shop.warranty.models import CoverLine
from shop.warranty.timeline import (
    ALWAYS,
    REMAINING,
    Ending,
    History,
    Promised,
    Refit,
    Sale,
    Stretch,
    covered_on,
    stretches,
)
from shop.work.models.fitting import Fitting


@dataclass
class CarCover:
    """Every promise in the papers of one car, and the days each covers. `lines` are rows by their id."""

    lines: dict[int, CoverLine] = field(default_factory=dict)
    stretches: list[Stretch] = field(default_factory=list)
    history: History = field(default_factory=History)

    def at(self, panel: str, piece: int | None = None) -> list[Stretch]:
        """The days covered at one place; papers that name no piece cover the whole panel."""
        return [
            stretch for stretch in self.stretches if stretch.panel == panel and self._is_at(stretch, piece)
        ]

    def on(self, day: date) -> list[Stretch]:
        return covered_on(day, self.stretches)

    def last_day(self, line: CoverLine) -> date | None:
        """The last day this promise covers as things stand; None when it covers none at all."""
        return max((s.last_day for s in self.stretches if s.line == line.pk), default=None)

    def _is_at(self, stretch: Stretch, piece: int | None) -> bool:
        fitting = self.lines[stretch.line].fitting
        return piece is None or fitting is None or fitting.piece == piece


def cover_of(vehicle, *, today: date) -> CarCover:
    return covers([vehicle], today=today).get(vehicle.pk) or CarCover()


def covers(vehicles: Iterable, *, today: date, but: Iterable[int] = ()) -> dict[int, CarCover]:
    """The cover of many cars in as many queries as of one. `but`: certificates to leave out."""
    pks = [vehicle.pk for vehicle in vehicles]
    lines = _lines(pks, set(but))
    rules = {row.pk: row.body for row in Document.objects.filter(pk__in={_terms(line) for line in lines})}
    histories = _histories(pks, lines)
    found: dict[int, CarCover] = {}
    for line in lines:
        car = _car(line)
        cover = found.setdefault(car, CarCover(history=histories[car]))
        cover.lines[line.pk] = line
        cover.stretches += stretches(
            promised_by(line, rules.get(_terms(line)) or {}), histories[car], today=today
        )
    return found


def promised_by(line: CoverLine, terms: dict) -> Promised:
    """A row as the rules read it. Of a paper without terms here, nothing ends by a sale: nobody knows its rule."""
    revision = line.revision
    withdrawn = revision.withdrawn_at
    return Promised(
        line=line.pk,
        panel=line.panel,
        film=line.fitting_id,
        kind=line.kind,
        first_day=line.first_day,
        last_day=line.last_day,
        months=line.months,
        days=line.days,
        counting=line.counting,
        again=terms.get("again", {}).get("rule", REMAINING),
        transfer=terms.get("transfer", {}).get("rule", ALWAYS),
        notice_days=terms.get("transfer", {}).get("notice_days", 0),
        withdrawn_on=withdrawn.astimezone(ZoneInfo(revision.zone)).date() if withdrawn else None,
    )


def _lines(cars: list[int], but: set[int]) -> list[CoverLine]:
    """The lines of the revision in force of every paper of these cars."""
    rows = (
        CoverLine.objects.of_vehicles(cars)
        .exclude(revision__certificate__in=but)
        .select_related("revision__certificate", "fitting")
        .order_by("pk")
    )
    last: dict[int, int] = {}
    for row in rows:
        certificate = row.revision.certificate_id
        last[certificate] = max(last.get(certificate, 0), row.revision.n)
    return [row for row in rows if row.revision.n == last[row.revision.certificate_id]]


def _car(line: CoverLine) -> int:
    return line.revision.certificate.vehicle_id


def _terms(line: CoverLine) -> int | None:
    return line.revision.terms_id


def _histories(cars: list[int], lines: list[CoverLine]) -> dict[int, History]:
    refits, endings, sales, papered = (defaultdict(list) for _ in range(4))
    again = Fitting.objects.filter(
        panel__vehicle__in=cars, replaces__isnull=False, job__hand_over__isnull=False
    ).order_by("pk")
    for car, old, new, on in again.values_list("panel__vehicle", "replaces", "pk", "job__hand_over__on"):
        refits[car].append(Refit(old, new, on))
    for event in CoverEvent.objects.of_vehicles(cars):
        if event.kind == CoverEvent.Kind.SOLD:
            sales[event.vehicle_id].append(Sale(event.on, event.told_on))
        else:
            endings[event.vehicle_id].append(Ending(event.panel, event.fitting_id, event.on, event.kind))
    for line in lines:
        if line.fitting_id and not line.revision.withdrawn_at:
            papered[_car(line)].append((line.fitting_id, line.kind))
    return {
        car: History(tuple(refits[car]), tuple(endings[car]), tuple(sales[car]), frozenset(papered[car]))
        for car in cars
    }
