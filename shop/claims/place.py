"""The place a claim lands on: film, edge and the promises for it, as they were on the day it was noticed."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from shop.intake.names import body_of, edge_names, panel_name
from shop.warranty.cover import CarCover, cover_of
from shop.warranty.models import Certificate, CoverLine
from shop.warranty.timeline import Stretch, covered_on
from shop.work.models.fitting import Fitting, FittingEdge


@dataclass(frozen=True)
class Place:
    """`film` None where only a paper knows the panel; `cover` is that of the whole car."""

    panel: str
    piece: int | None
    film: Fitting | None
    cover: CarCover

    @property
    def stretches(self) -> list[Stretch]:
        return self.cover.at(self.panel, self.piece)

    def edge(self, code: str) -> FittingEdge | None:
        return next((row for row in self.film.edges.all() if row.code == code), None) if self.film else None

    def line_for(self, covers: Collection[str], day: date) -> CoverLine | None:
        """The promise a claim attaches to: what answers on that day, else the last one given for the place."""
        there = covered_on(day, self.stretches)
        for kind in covers:
            for stretch in there:
                if stretch.kind == kind:
                    return self.cover.lines[stretch.line]
        lines = [self.cover.lines[stretch.line] for stretch in there or self.stretches]
        wanted = [line for line in lines if line.kind in covers] or lines
        return max(wanted, key=lambda line: (line.last_day, line.pk), default=None)


def place_of(vehicle, place: str, day: date) -> Place | None:
    """What was at `hood.1` on this day; None when no film of ours, and no paper, was ever about it."""
    panel, _, number = str(place).partition(".")
    piece = int(number) if number.isascii() and number.isdigit() else None
    cover = cover_of(vehicle, today=day)
    films = list(
        Fitting.objects.filter(panel__vehicle=vehicle, panel__code=panel)
        .exclude(ended_as__in=("taken_off", "called_off"))
        .select_related("panel", "job__body", "job__plan", "job__workshop", "roll__lot__material")
        .prefetch_related("edges")
        .order_by("pk")
    )
    films = [film for film in films if piece in (None, film.piece)]
    found = Place(panel, piece or (films[0].piece if films else None), None, cover)
    film = _film_then(films, covered_on(day, found.stretches))
    if film is None and not found.stretches:
        return None
    return Place(panel, film.piece if film else None, film, cover)


def _film_then(films: list[Fitting], there: list[Stretch]) -> Fitting | None:
    """The film that was covered that day, else the one that is on, else the last that was."""
    by_pk = {film.pk: film for film in films}
    for stretch in there:
        if stretch.film in by_pk:
            return by_pk[stretch.film]
    live = [film for film in films if film.ended_at is None]
    return (live or films or [None])[-1]


def certificate_of(line: CoverLine | None) -> Certificate | None:
    return line.revision.certificate if line else None


def label(film: Fitting | None, panel: str, line: CoverLine | None = None) -> str:
    """`Left fender`, or what the paper calls it where no film is known."""
    if film is None:
        return line.label if line else panel.replace("-", " ").capitalize()
    name = panel_name(body_of(film.job.body), panel, film.job.workshop.language)
    return name if film.piece == 1 else f"{name}, piece {film.piece}"


def edge_label(film: Fitting | None, edge: FittingEdge | None) -> str:
    """`arch`, in the language of the workshop; empty for the panel as a whole."""
    if film is None or edge is None:
        return ""
    names = edge_names(body_of(film.job.body), film.panel.code, film.job.workshop.language)
    said = names.get(edge.code) or edge.code.replace("-", " ")
    return said[:1].lower() + said[1:]


def where(claim) -> str:
    """`Left fender, arch`."""
    edge = edge_label(claim.fitting, claim.edge)
    name = label(claim.fitting, claim.panel, claim.line)
    return f"{name}, {edge}" if edge else name
