"""One car, one sheet, several layers: cover, finishes, damage, defects and claims, each told as a list as well.

A layer is a picture, a legend in words, and rows in the order of the numbers on the picture.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date

from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from shop.claims import place as claim_place
from shop.claims.models import Claim
from shop.intake.drawing import draw_sheet
from shop.intake.models import Job, Vehicle
from shop.intake.models import Mark as Damage
from shop.intake.names import body_of, edge_names, panel_name, panel_of
from shop.intake.sheet_states import EdgeMark, EdgeState, Mark, PanelMark, PanelState
from shop.intake.zoom_marks import on_the_sheet
from shop.templatetags.words import day, in_language
from shop.warranty.cover import cover_of
from shop.work.models.fitting import Fitting
from shop.work.models.outcome import Defect

NAMES = {
    "cover": "Cover",
    "finish": "How edges end",
    "damage": "Found at intake",
    "defects": "Defects",
    "claims": "Claims",
}
# Film that goes round an edge or under a neighbour, against film that ends on the face.
ROUND_THE_EDGE = {"wrapped", "tucked"}


@dataclass(frozen=True)
class Told:
    """One row of the list; `number` is the disc on the drawing, 0 where the panel itself tells."""

    where: str
    what: str
    number: int = 0
    url: str = ""


@dataclass
class Drawn:
    panels: dict[str, PanelState] = field(default_factory=dict)
    edges: dict[str, EdgeState] = field(default_factory=dict)
    marks: list[Mark] = field(default_factory=list)
    rows: list[Told] = field(default_factory=list)
    legend: list[tuple[str, str]] = field(default_factory=list)

    def number(self, where: str, what: str, panel: str, *, url: str = "", **at) -> None:
        """A numbered mark and its row, in step."""
        n = len(self.rows) + 1
        self.rows.append(Told(where, what, n, url))
        self.marks.append(Mark(panel, n, f"{where}: {what}", href=url, **at))


@dataclass(frozen=True)
class Layer:
    code: str
    name: str
    svg: SafeString
    rows: list[Told]
    legend: list[tuple[str, str]]


def layer_of(vehicle: Vehicle, code: str, *, language: str, today: date) -> Layer | None:
    """This layer of the car as it was last here; None for a car that was never here."""
    job = Job.objects.for_page().filter(vehicle=vehicle).order_by("-arrived_at", "-pk").first()
    if job is None:
        return None
    code = code if code in NAMES else "cover"
    car = _Car(vehicle, job, language, today)
    drawn = LAYERS[code](car)
    drawn.marks = [mark for mark in drawn.marks if panel_of(car.body, mark.panel)]
    svg = draw_sheet(
        car.body,
        panels=drawn.panels,
        edges=drawn.edges,
        marks=drawn.marks,
        size="medium",
        ids=f"life-{code}",
        title=f"{NAMES[code]}: the car unfolded, nose up",
        language=language,
    )
    return Layer(code, NAMES[code], mark_safe(svg), drawn.rows, drawn.legend)


class _Car:
    """What every layer needs to know, and the names it tells things by."""

    def __init__(self, vehicle: Vehicle, job: Job, language: str, today: date) -> None:
        self.vehicle, self.job, self.language, self.today = vehicle, job, language, today
        self.body = body_of(job.body)
        rows = Fitting.objects.filter(job__vehicle=vehicle, ended_at__isnull=True)
        self.films = list(rows.select_related("panel").prefetch_related("edges").order_by("pk"))

    def name(self, panel: str) -> str:
        return panel_name(self.body, panel, self.language)

    def edge(self, panel: str, code: str) -> str:
        said = edge_names(self.body, panel, self.language).get(code) or code.replace("-", " ")
        return said[:1].lower() + said[1:]

    def filmed(self, note: str = "our film is on it") -> dict[str, PanelState]:
        return {film.panel.code: PanelState(PanelMark.NOT_STARTED, note) for film in self.films}


def _cover(car: _Car) -> Drawn:
    """Solid while the film itself is covered, outline once that is over; the row says every kind and its day."""
    drawn = Drawn(legend=[("signed", "film covered today"), ("open", "our film, cover over or none given")])
    drawn.panels = car.filmed("no cover")
    cover = cover_of(car.vehicle, today=car.today)
    titles = dict(next(iter(cover.lines.values())).Kind.choices) if cover.lines else {}
    last: dict[str, dict[str, date]] = {}
    for stretch in cover.stretches:
        days = last.setdefault(stretch.panel, {})
        days[stretch.kind] = max(days.get(stretch.kind, stretch.last_day), stretch.last_day)
    for panel, days in last.items():
        film = days.get("material")
        covered = bool(film and film >= car.today)
        note = f"covered to {day(film)}" if covered else "cover over"
        drawn.panels[panel] = PanelState(PanelMark.SIGNED if covered else PanelMark.NOT_STARTED, note)
        said = ", ".join(
            f"{titles[kind].lower()} {'until' if until >= car.today else 'ended'} {day(until)}"
            for kind, until in days.items()
        )
        drawn.rows.append(Told(car.name(panel), said))
    return drawn


def _finish(car: _Car) -> Drawn:
    drawn = Drawn(legend=[("thick", "film goes round or under the edge"), ("thin", "film ends on the face")])
    drawn.panels = car.filmed()
    for film in car.films:
        panel, ways = film.panel.code, {}
        for edge in film.edges.all():
            round_it = edge.finish in ROUND_THE_EDGE
            drawn.edges[f"{panel}.{film.piece}.{edge.code}"] = EdgeState(
                EdgeMark.ANSWERED if round_it else EdgeMark.UNANSWERED, note=edge.finish
            )
            said = f"{edge.finish} {edge.return_mm} mm" if edge.return_mm else edge.finish
            ways.setdefault(said, []).append(car.edge(panel, edge.code))
        told = "; ".join(f"{said}: {', '.join(edges)}" for said, edges in ways.items())
        drawn.rows.append(Told(car.name(panel), told))
    return drawn


def _damage(car: _Car) -> Drawn:
    drawn = Drawn(legend=[("damage", "found when it came in, at its place")])
    drawn.panels = car.filmed()
    rows = Damage.objects.filter(job__vehicle=car.vehicle, struck_at__isnull=True).select_related(
        "panel", "job"
    )
    for row in rows.order_by("made_at", "pk"):
        what = row.get_kind_display().lower() + (f", {row.note}" if row.note else "")
        at = {"kind": "damage", "x_th": row.x_mil, "y_th": row.y_mil}
        drawn.number(car.name(row.panel.code), f"{what} (job {row.job.number})", row.panel.code, **at)
    return drawn


def _defects(car: _Car) -> Drawn:
    drawn = Drawn(legend=[("held", "something is wrong here now"), ("number", "a defect, open or settled")])
    drawn.panels = car.filmed()
    rows = Defect.objects.filter(fitting__job__vehicle=car.vehicle).select_related(
        "fitting__panel", "fitting__job__plan", "edge"
    )
    for row in rows.order_by("raised_at", "pk"):
        panel, edge = row.fitting.panel.code, row.edge.code if row.edge else ""
        where = car.name(panel) + (f", {car.edge(panel, edge)}" if edge else "")
        if row.closed_at is None:
            drawn.panels[panel] = PanelState(PanelMark.HELD, "something is wrong")
        state = "settled" if row.closed_at else "open"
        url = reverse("defect", args=[row.fitting.job_id, row.pk])
        at = {"edge": edge}
        place = (
            on_the_sheet(car.body.panel(panel), row.x_mil, row.y_mil) if panel_of(car.body, panel) else None
        )
        if place:
            at = {"x_th": place[0], "y_th": place[1]}
        drawn.number(where, f"{_kind(row, car.language)}, {state}", panel, url=url, **at)
    return drawn


def _kind(row: Defect, language: str) -> str:
    kinds = {
        kind["code"]: in_language(kind["title"], language) for kind in row.fitting.job.plan.body["defects"]
    }
    return kinds.get(row.kind, row.kind.replace("_", " ")).lower()


def _claims(car: _Car) -> Drawn:
    drawn = Drawn(legend=[("number", "a claim, at the place it was reported for")])
    drawn.panels = car.filmed()
    rows = Claim.objects.filter(vehicle=car.vehicle).for_page().order_by("reported_at", "pk")
    for row in rows:
        edge = row.edge.code if row.edge else ""
        url = reverse("claim", args=[row.pk])
        what = f"claim {row.number}, noticed {day(row.noticed_on)}"
        drawn.number(claim_place.where(row), what, row.panel, edge=edge, url=url)
    return drawn


LAYERS: dict[str, Callable[[_Car], Drawn]] = {
    "cover": _cover,
    "finish": _finish,
    "damage": _damage,
    "defects": _defects,
    "claims": _claims,
}
