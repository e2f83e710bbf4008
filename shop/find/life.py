"""A car's whole life: every job, panel, certificate, defect, reading, signature, photo and entry of its books.

Read in a fixed number of queries however long the life is.
"""

from collections import defaultdict
from datetime import date, datetime
from zoneinfo import ZoneInfo

from shop.find.readings import values_in_words
from shop.find.rows import Filmed, Life, Paper, Picture, Row
from shop.find.words import Reader
from shop.intake.models import Job, Mark, Ownership, PaintNote, Vehicle
from shop.intake.names import body_of, edge_names, panel_name
from shop.record.models import Entry
from shop.templatetags.words import day, in_language
from shop.warranty.models import Certificate, Revision
from shop.work.models.fitting import Fitting
from shop.work.models.outcome import Defect, DefectPhoto
from shop.work.models.proof import Outcome, OutcomePhoto, Signing


def life_of(vehicle: Vehicle, *, language: str) -> Life:
    return _Reading(vehicle, language).life()


class _Reading:
    def __init__(self, vehicle: Vehicle, language: str) -> None:
        self.vehicle, self.language = vehicle, language
        self.zone = ZoneInfo(vehicle.workshop.zone)
        self.jobs = list(
            Job.objects.for_page()
            .filter(vehicle=vehicle)
            .select_related("hand_over", "release__person")
            .order_by("-arrived_at", "-pk")
        )
        self.by_pk = {job.pk: job for job in self.jobs}
        self.readers = {job.pk: Reader(job.plan.body, body_of(job.body), language) for job in self.jobs}

    def life(self) -> Life:
        owners = Ownership.objects.filter(vehicle=self.vehicle).select_related(
            "customer__name", "customer__phone"
        )
        return Life(
            vehicle=self.vehicle,
            jobs=self.jobs,
            owners=list(owners.order_by("-since", "-pk")),
            papers=self._papers(),
            panels=self._panels(),
            found=self._found(),
            defects=self._defects(),
            readings=self._readings(),
            signings=self._signings(),
            pictures=self._pictures(),
            books=self._books(),
        )

    def _papers(self) -> list[Paper]:
        rows = Certificate.objects.filter(vehicle=self.vehicle).with_revisions()
        rows = rows.prefetch_related("revisions__cover").order_by("-pk")
        found = []
        for row in rows:
            revisions = sorted(row.revisions.all(), key=lambda revision: revision.n)
            found.append(Paper(row, revisions, _covered(revisions[-1])))
        return found

    def _panels(self) -> dict[str, list[Filmed]]:
        rows = (
            Fitting.objects.filter(job__in=self.by_pk)
            .select_related("panel", "roll__lot__material")
            .prefetch_related("edges", "people__person")
            .order_by("-set_out_at", "panel__code", "piece", "-pk")
        )
        found: dict[str, list[Filmed]] = defaultdict(list)
        for row in rows:
            row.job = self.by_pk[row.job_id]
            name = panel_name(body_of(row.job.body), row.panel.code, self.language)
            found[name].append(
                Filmed(row, self._name(row), sorted(p.person.name for p in row.people.all()), _edges(row))
            )
        return dict(sorted(found.items()))

    def _name(self, row: Fitting) -> str:
        name = panel_name(body_of(self.by_pk[row.job_id].body), row.panel.code, self.language)
        return name if row.piece == 1 else f"{name}, piece {row.piece}"

    def _found(self) -> list[Row]:
        marks = Mark.objects.filter(job__in=self.by_pk, struck_at__isnull=True).select_related("panel")
        notes = PaintNote.objects.filter(job__in=self.by_pk, struck_at__isnull=True).select_related("panel")
        rows = [
            Row(m.made_at, f"{self._panel(m)}: {m.get_kind_display().lower()}", more=m.note) for m in marks
        ]
        rows += [
            Row(n.made_at, f"{self._panel(n)}: {n.get_kind_display().lower()}", more=n.note) for n in notes
        ]
        return _newest_first(rows)

    def _panel(self, row) -> str:
        return panel_name(body_of(self.by_pk[row.job_id].body), row.panel.code, self.language)

    def _defects(self) -> list[Row]:
        rows = Defect.objects.filter(fitting__job__in=self.by_pk).select_related(
            "fitting__panel", "edge", "raised_by", "closed_by"
        )
        return _newest_first([self._defect(row) for row in rows])

    def _defect(self, row: Defect) -> Row:
        job = self.by_pk[row.fitting.job_id]
        what = self.readers[job.pk].kinds.get(row.kind, "Something is wrong").lower()
        edge = f", {self._edge(job, row.fitting, row.edge)}" if row.edge else ""
        if row.closed_at:
            ways = {
                way["code"]: in_language(way["title"], self.language) for way in job.plan.body["dispositions"]
            }
            how = ways.get(row.disposition, "settled").lower()
            more = f"{how}, {row.closed_by.name}, {day(row.closed_at.astimezone(self.zone))}"
        else:
            more = "open"
        return Row(
            row.raised_at,
            f"{self._name(row.fitting)}{edge}: {what}",
            who=row.raised_by.name,
            more=f"{more}. {row.note}".rstrip(". "),
            kind="" if row.closed_at else "wrong",
            job=job,
        )

    def _edge(self, job: Job, fitting: Fitting, edge) -> str:
        names = edge_names(body_of(job.body), fitting.panel.code, self.language)
        said = names.get(edge.code) or edge.code.replace("-", " ")
        return said[:1].lower() + said[1:]

    def _readings(self) -> list[Row]:
        rows = (
            Outcome.objects.filter(entry__book__job__in=self.by_pk, value__isnull=False)
            .select_related("person", "entry__book")
            .order_by("-at", "-pk")
        )
        us = self.vehicle.workshop.unit_system
        return [
            Row(
                row.at,
                f"{self.readers[row.entry.book.job_id].line(row.key)}: {values_in_words(row.value, us)}",
                who=row.person.name,
                job=self.by_pk[row.entry.book.job_id],
            )
            for row in rows
            if row.value
        ]

    def _signings(self) -> list[Row]:
        rows = Signing.objects.filter(entry__book__job__in=self.by_pk).select_related("person", "entry__book")
        return _newest_first(
            [
                Row(
                    row.at,
                    self.readers[row.entry.book.job_id].meanings.get(row.meaning, row.meaning),
                    who=row.person.name,
                    more=row.sentence,
                    kind="signed",
                    job=self.by_pk[row.entry.book.job_id],
                )
                for row in rows
            ]
        )

    def _pictures(self) -> list[Picture]:
        proofs = (
            OutcomePhoto.objects.filter(
                checklist__fitting__job__in=self.by_pk, photo__isnull=False, set_aside=""
            )
            .select_related("checklist__fitting__panel", "edge", "person")
            .order_by("-at", "-pk")
        )
        found: dict[int, Picture] = {}
        for proof in proofs:
            fitting = proof.checklist.fitting
            job = self.by_pk[fitting.job_id]
            place = self._name(fitting) + (f": {self._edge(job, fitting, proof.edge)}" if proof.edge else "")
            self._show(found, proof.photo_id, place, proof.at, proof.person.name)
        faults = DefectPhoto.objects.filter(defect__fitting__job__in=self.by_pk, photo__isnull=False)
        for proof in faults.select_related("defect__fitting__panel", "defect__raised_by"):
            defect = proof.defect
            state = "put right" if proof.after else "a defect"
            self._show(
                found,
                proof.photo_id,
                f"{self._name(defect.fitting)}: {state}",
                defect.raised_at,
                defect.raised_by.name,
            )
        return list(found.values())

    def _show(self, found: dict[int, Picture], photo_id: int, place: str, at: datetime, who: str) -> None:
        if photo_id not in found:
            found[photo_id] = Picture(photo_id, place, at, who)
        elif place not in found[photo_id].caption.split("; "):
            found[photo_id].caption += f"; {place}"

    def _books(self) -> list[tuple[Job, list[Row]]]:
        entries = (
            Entry.objects.filter(book__job__in=self.by_pk)
            .select_related("person", "tablet", "book")
            .order_by("book__job__pk", "number")
        )
        by_job: dict[int, list[Row]] = {job.pk: [] for job in self.jobs}
        for entry in entries:
            pk = entry.book.job_id
            by_job[pk].append(
                Row(
                    entry.happened_at,
                    self.readers[pk].sentence(entry.verb, entry.body),
                    who=entry.person.name if entry.person else "",
                    more=f"{HOW.get(entry.proven, entry.proven)}, entry {entry.number}",
                )
            )
        return [(job, by_job[job.pk]) for job in self.jobs]


HOW = {
    "claimed": "by the name picked on a tablet",
    "signed_in": "signed in at the desk",
    "pin": "with a PIN",
    "password": "with a password",
    "first_start": "at first start",
}


def _covered(revision: Revision) -> list[tuple[str, date, str]]:
    groups: dict[tuple[str, date], list[str]] = defaultdict(list)
    for line in revision.cover.all():
        groups[line.get_kind_display(), line.last_day].append(line.label)
    return [(title, last, ", ".join(labels)) for (title, last), labels in groups.items()]


def _edges(row: Fitting) -> str:
    by_finish: dict[str, int] = defaultdict(int)
    for edge in row.edges.all():
        by_finish[edge.finish] += 1
    return ", ".join(f"{count} {finish}" for finish, count in by_finish.items())


def _newest_first(rows: list[Row]) -> list[Row]:
    return sorted(rows, key=lambda row: row.at, reverse=True)
