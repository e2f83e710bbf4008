"""What the page of an exported job is made of: panels, people, papers, photos, in words."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from shop.intake.devices import tried, tried_text
from shop.intake.gauge import gauge_text, gauged
from shop.intake.models import Job, Mark, PaintNote
from shop.intake.names import body_of, edge_names, panel_name
from shop.keep.names import CarNames
from shop.photos.models import Photo
from shop.templatetags.words import in_language
from shop.warranty.models import Certificate, Revision
from shop.work.models.fitting import Fitting
from shop.work.models.outcome import Defect, DefectPhoto
from shop.work.models.proof import OutcomePhoto, Signing


@dataclass
class Film:
    """One piece of film: where, what, from which lot, by whom, and how its edges end."""

    name: str
    fitting: Fitting
    people: str
    edges: list[tuple[str, str]]


@dataclass
class Shot:
    """One photo with every place it shows."""

    photo: Photo
    places: list[str] = field(default_factory=list)
    at: datetime | None = None
    who: str = ""

    @property
    def caption(self) -> str:
        return "; ".join(self.places)


class Rows:
    """Read once for one job."""

    def __init__(self, job: Job, language: str) -> None:
        self.job, self.language = job, language
        self.body = body_of(job.body)
        self.names = CarNames(job, (), values=False, language=language)

    def films(self) -> list[Film]:
        rows = (
            Fitting.objects.of_job(self.job)
            .select_related("panel", "roll__lot__material")
            .prefetch_related("edges", "people__person")
        )
        return [
            Film(
                self.names.place(row.place),
                row,
                ", ".join(sorted(named.person.name for named in row.people.all())),
                self._edges(row),
            )
            for row in rows
        ]

    def _edges(self, row: Fitting) -> list[tuple[str, str]]:
        names = edge_names(self.body, row.panel.code, self.language)
        groups: dict[str, list[str]] = defaultdict(list)
        for edge in row.edges.all():
            depth = f", {edge.return_mm} mm" if edge.return_mm else ""
            primer = ", primer" if edge.primer else ""
            groups[f"{edge.finish}{depth}{primer}"].append(names.get(edge.code, edge.code.replace("-", " ")))
        return [(finish, ", ".join(labels)) for finish, labels in groups.items()]

    def signings(self) -> list[Signing]:
        rows = Signing.objects.filter(entry__book__job=self.job).select_related("person").order_by("at", "pk")
        for row in rows:
            row.title = self.names.of_plan("signings", row.meaning).capitalize()
        return list(rows)

    def found(self) -> list[str]:
        marks = Mark.objects.standing(self.job)
        notes = PaintNote.objects.standing(self.job)
        said = [f"{self._panel(m)}: {m.get_kind_display().lower()}{_bracketed(m.note)}" for m in marks]
        said += [f"{self._panel(n)}: {n.get_kind_display().lower()}{_bracketed(n.note)}" for n in notes]
        return said + [text for text in (gauge_text(gauged(self.job)), tried_text(tried(self.job))) if text]

    def _panel(self, row: Any) -> str:
        return panel_name(self.body, row.panel.code, self.language)

    def defects(self) -> list[tuple[Defect, str]]:
        rows = Defect.objects.filter(fitting__job=self.job).select_related(
            "fitting__panel", "edge", "raised_by", "closed_by"
        )
        found = []
        for row in rows.order_by("raised_at", "pk"):
            edge = f", {self.names.edge(row.fitting.place, row.edge.code)}" if row.edge else ""
            kind = self.names.of_plan("defects", row.kind)
            found.append((row, f"{self.names.place(row.fitting.place)}{edge}: {kind}"))
        return found

    def shots(self) -> list[Shot]:
        """Every photo of the job, in the order it was taken, each once."""
        found: dict[int, Shot] = {}
        proofs = OutcomePhoto.objects.filter(checklist__fitting__job=self.job, photo__isnull=False)
        for row in proofs.select_related("photo", "checklist__fitting__panel", "edge", "person").order_by(
            "at", "pk"
        ):
            place = row.checklist.fitting.place
            edge = f", {self.names.edge(place, row.edge.code)}" if row.edge else ""
            aside = " (set aside)" if row.set_aside else ""
            text = f"{self.names.place(place)}{edge}: {self.names.line(row.key)}{aside}"
            _show(found, row.photo, text, row.at, row.person.name)
        for row in DefectPhoto.objects.filter(
            defect__fitting__job=self.job, photo__isnull=False
        ).select_related("photo", "defect__fitting__panel", "defect__raised_by"):
            state = "put right" if row.after else "as found"
            text = f"{self.names.place(row.defect.fitting.place)}: a defect, {state}"
            _show(found, row.photo, text, row.defect.raised_at, row.defect.raised_by.name)
        for mark in (
            Mark.objects.filter(job=self.job).select_related("panel").prefetch_related("photos__photo")
        ):
            for row in mark.photos.all():
                _show(found, row.photo, f"{self._panel(mark)}: damage found on arrival", mark.made_at, "")
        return list(found.values())

    def revisions(self) -> list[Revision]:
        certificate = Certificate.objects.filter(job=self.job).first()
        rows = Revision.objects.filter(certificate=certificate) if certificate else Revision.objects.none()
        return list(
            rows.select_related("certificate", "issued_by", "entry").prefetch_related("cover").order_by("n")
        )

    def plan_title(self) -> str:
        return in_language(self.job.plan.body["title"], self.language)


def _bracketed(note: str) -> str:
    return f" ({note})" if note else ""


def _show(found: dict[int, Shot], photo: Photo, place: str, at: datetime, who: str) -> None:
    shot = found.setdefault(photo.pk, Shot(photo, at=at, who=who))
    if place not in shot.places:
        shot.places.append(place)
