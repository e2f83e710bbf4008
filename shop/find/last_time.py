"""How this model was done last time: finishes, times and photos of the last car of the same model and body, and what
became of its edges. Read in a fixed number of queries, whatever the cars."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from shop.claims.models import Claim
from shop.find.words import Reader
from shop.intake.models import Job
from shop.intake.names import body_of, edge_names, panel_name
from shop.templatetags.words import day
from shop.warranty.aftercare import Finding
from shop.warranty.vocabulary import SOUND, vocabulary
from shop.work.kinds import Stage, title
from shop.work.models.fitting import Fitting
from shop.work.models.outcome import Defect
from shop.work.models.proof import OutcomeOn, OutcomePhoto

STAGES = [str(stage) for stage in Stage]
# Cure is waiting, not work.
AT_WORK = [stage for stage in STAGES if stage != Stage.CURE]
MOST_PHOTOS = 6


@dataclass
class EdgeThen:
    """One edge as it was finished, and what was found there since."""

    name: str
    finish: str
    found: list[str] = field(default_factory=list)


@dataclass
class PanelThen:
    """`here`: whether this car carries the same piece. `stages`: title and time, first to last answer of it."""

    place: str
    name: str
    film: str
    cut: str
    edges: list[EdgeThen]
    found: list[str]
    stages: list[tuple[str, str]] = field(default_factory=list)
    then: list = field(default_factory=list)
    now: list = field(default_factory=list)
    here: bool = False


@dataclass
class LastTime:
    """`days`: each day worked on that car with the time between its first and its last answer."""

    job: Job
    left_on: datetime
    days: list[tuple[str, str]]
    total: str
    panels: list[PanelThen]


def last_time(job: Job, *, stage: str = "", panel: str = "") -> LastTime | None:
    """The last car of the same model and body that left before; None where this one is the first.

    `stage` and `panel` (`hood.1`) narrow the photos and put that piece first.
    """
    before = last_job(job)
    if before is None:
        return None
    reading = _Reading(before, job, stage)
    panels = reading.panels()
    panels.sort(key=lambda row: (row.place != panel, not row.here, row.place))
    days, total = reading.days()
    return LastTime(before, before.hand_over.on, days, total, panels)


def last_job(job: Job) -> Job | None:
    return (
        Job.objects.for_page()
        .filter(workshop=job.workshop, vehicle__model__iexact=job.vehicle.model, body__name=job.body.name)
        .filter(hand_over__isnull=False, fittings__isnull=False)
        .exclude(pk=job.pk)
        .select_related("hand_over")
        .order_by("-hand_over__on", "-pk")
        .first()
    )


def spoken(gone: timedelta) -> str:
    """
    >>> spoken(timedelta(minutes=9)), spoken(timedelta(hours=3, minutes=5))
    ('9 min', '3 h 5 min')
    """
    minutes = round(gone.total_seconds() / 60)
    if minutes >= 60:
        return f"{minutes // 60} h {minutes % 60} min"
    return f"{minutes} min" if minutes else "under a minute"


class _Reading:
    def __init__(self, before: Job, job: Job, stage: str) -> None:
        self.before, self.job, self.stage = before, job, stage
        self.language = job.workshop.language
        self.zone = ZoneInfo(job.workshop.zone)
        self.body = body_of(before.body)
        self.films = list(
            Fitting.objects.filter(job=before, replaced_by__isnull=True)
            .select_related("panel", "roll__lot__material")
            .prefetch_related("edges")
            .order_by("panel__code", "piece")
        )
        self.names = {
            film.panel.code: edge_names(self.body, film.panel.code, self.language) for film in self.films
        }
        self.answers = self._answers()
        self.photos = self._photos()

    def panels(self) -> list[PanelThen]:
        here = set(Fitting.objects.live().filter(job=self.job).values_list("panel__code", "piece"))
        found = self._found()
        return [self._panel(film, found, (film.panel.code, film.piece) in here) for film in self.films]

    def days(self) -> tuple[list[tuple[str, str]], str]:
        """By the times in the book: how long each day went from the first to the last answer at work."""
        by_day: dict[object, list[datetime]] = defaultdict(list)
        for moments in self.answers.values():
            for at in moments:
                by_day[at.astimezone(self.zone).date()].append(at)
        spans = [(day(on), max(moments) - min(moments)) for on, moments in sorted(by_day.items())]
        return [(on, spoken(gone)) for on, gone in spans], spoken(
            sum((gone for _, gone in spans), timedelta())
        )

    def _panel(self, film: Fitting, found: dict, here: bool) -> PanelThen:
        name = panel_name(self.body, film.panel.code, self.language)
        edges = [
            EdgeThen(
                self.names[film.panel.code].get(edge.code, edge.code),
                _finish(edge),
                found.get((film.pk, edge.pk), []),
            )
            for edge in film.edges.all()
        ]
        row = PanelThen(
            film.place,
            name if film.piece == 1 else f"{name}, piece {film.piece}",
            f"{film.roll.lot.material.name}, lot {film.roll.lot.code}" if film.roll else "film not named",
            f"{film.cut.replace('_', ' ')}, {film.cover}",
            edges,
            found.get((film.pk, None), []),
            here=here,
        )
        row.stages = self._stages(film)
        row.then = self.photos.get((self.before.pk, film.place), [])[:MOST_PHOTOS]
        row.now = self.photos.get((self.job.pk, film.place), [])[:MOST_PHOTOS]
        return row

    def _answers(self) -> dict[tuple[int, str], list[datetime]]:
        rows = OutcomeOn.objects.filter(
            checklist__fitting__in=self.films, checklist__stage__in=AT_WORK, late=False
        ).values_list("checklist__fitting", "checklist__stage", "outcome__at")
        found: dict[tuple[int, str], list[datetime]] = defaultdict(list)
        for film, stage, at in rows:
            found[film, stage].append(at)
        return found

    def _stages(self, film: Fitting) -> list[tuple[str, str]]:
        said = []
        for stage in AT_WORK:
            moments = self.answers.get((film.pk, stage))
            if moments:
                said.append((title(Stage(stage))["en"], spoken(max(moments) - min(moments))))
        return said

    def _photos(self) -> dict[tuple[int, str], list]:
        """The proofs of both cars by place, each photo once, those of the stage asked for alone."""
        rows = (
            OutcomePhoto.objects.filter(
                checklist__fitting__job__in=[self.before.pk, self.job.pk], photo__isnull=False, set_aside=""
            )
            .filter(**({"checklist__stage": self.stage} if self.stage else {}))
            .select_related("checklist__fitting__panel", "edge", "photo")
            .order_by("at", "pk")
        )
        found: dict[tuple[int, str], dict[int, OutcomePhoto]] = defaultdict(dict)
        for row in rows:
            film = row.checklist.fitting
            row.words = self._caption(row)
            found[film.job_id, film.place].setdefault(row.photo_id, row)
        return {place: list(photos.values()) for place, photos in found.items()}

    def _caption(self, row: OutcomePhoto) -> str:
        said = title(Stage(row.checklist.stage))["en"].lower()
        if row.edge is None:
            return said
        names = self.names.get(row.checklist.fitting.panel.code, {})
        return f"{names.get(row.edge.code, row.edge.code)}, {said}"

    def _found(self) -> dict[tuple[int, int | None], list[str]]:
        """What was wrong at each place: at work, at rechecks, when film came off, and by claims."""
        found: dict[tuple[int, int | None], list[str]] = defaultdict(list)
        words = vocabulary(None, self.language)
        reader = Reader(self.before.plan.body, self.body, self.language)
        for row in Defect.objects.filter(fitting__in=self.films).order_by("pk"):
            found[row.fitting_id, row.edge_id].append(
                f"at work: {reader.kinds.get(row.kind, row.kind).lower()}"
            )
        for row in _looks(self.films):
            when = "at a recheck" if row.recheck_id else "when the film came off"
            found[row.fitting_id, row.edge_id].append(f"{when}: {words.title(row.kind).lower()}")
        for row in Claim.objects.filter(fitting__in=self.films).order_by("pk"):
            found[row.fitting_id, row.edge_id].append(
                f"claim {row.number}: {words.title(row.symptom).lower()}"
            )
        return found


def _looks(films: Iterable[Fitting]):
    return Finding.objects.filter(fitting__in=films).exclude(kind=SOUND).order_by("pk")


def _finish(edge) -> str:
    said = f"{edge.finish} {edge.return_mm} mm" if edge.return_mm else edge.finish
    return f"{said}, primer" if edge.primer else said
