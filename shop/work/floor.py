"""One job as it stands on the floor: every live piece of film with its lines, answers, photos and signatures.

Read in a fixed number of queries whatever the size of the car; pages, gate and papers all look through it.
"""

from collections import defaultdict
from dataclasses import dataclass, field
from functools import cached_property

from shop.film.models import Lot, Roll
from shop.intake.models import Consent, PaintNote
from shop.intake.names import body_of, edge_names, piece_name
from shop.work.checklist import EdgeSpec, Line, PieceSpec, all_lines
from shop.work.kinds import Feature, Stage
from shop.work.models.fitting import Fitting
from shop.work.models.outcome import Defect, Waiver
from shop.work.models.proof import Checklist, Outcome, OutcomeOn, OutcomePhoto, SignOff

Spot = tuple[str, str]  # line key, edge code or ""


@dataclass
class StageOnFloor:
    """The live round of one stage of one piece."""

    stage: str
    lines: list[Line]
    checklist: Checklist | None = None
    answers: dict[Spot, OutcomeOn] = field(default_factory=dict)
    photos: dict[Spot, list[OutcomePhoto]] = field(default_factory=lambda: defaultdict(list))
    signoffs: dict[str, SignOff] = field(default_factory=dict)

    def line(self, key: str) -> Line | None:
        return next((line for line in self.lines if line.key == key), None)

    def has_photo(self, key: str, edge: str) -> bool:
        return any(proof.photo_id and not proof.set_aside for proof in self.photos.get((key, edge), ()))


@dataclass
class Piece:
    """One live fitting, looked at whole."""

    row: Fitting
    spec: PieceSpec
    name: str
    edge_names: dict[str, str]
    stages: dict[str, StageOnFloor]
    defects: list[Defect]
    paint: list[PaintNote]
    paint_accepted: bool

    @property
    def place(self) -> str:
        return f"{self.spec.panel}.{self.spec.piece}"

    def find(self, key: str) -> tuple[StageOnFloor, Line] | None:
        for stage in self.stages.values():
            line = stage.line(key)
            if line:
                return stage, line
        return None

    def signoff(self, meaning: str) -> SignOff | None:
        return next((s.signoffs[meaning] for s in self.stages.values() if meaning in s.signoffs), None)


class Floor:
    def __init__(self, job):
        self.job = job
        self.plan = job.plan.body
        self.body = body_of(job.body)
        rows = list(Fitting.objects.live().of_job(job).for_work())
        order = {panel.code: n for n, panel in enumerate(self.body.panels)}
        rows.sort(key=lambda row: (order.get(row.panel.code, 999), row.panel.code, row.piece))
        pieces_of = defaultdict(int)
        for row in rows:
            pieces_of[row.panel.code] += 1
        paint, accepted = self._paint()
        defects = self._defects(rows)
        self.pieces = [
            self._piece(row, pieces_of[row.panel.code], paint, accepted, defects.get(row.pk, []))
            for row in rows
        ]
        self.by_place = {piece.place: piece for piece in self.pieces}
        self._answers()
        self.lots, self.rolls = self._stock()
        self.agreed_defects = set(
            Defect.objects.filter(fitting__job=job, agreed__isnull=False).values_list("pk", flat=True)
        )
        self.waivers = list(Waiver.objects.filter(job=job).select_related("fitting"))

    def piece(self, place: str) -> Piece | None:
        return self.by_place.get(place)

    def of_panel(self, code: str) -> list[Piece]:
        return [piece for piece in self.pieces if piece.spec.panel == code]

    def waived(self, piece: Piece | None = None) -> frozenset[str]:
        """Codes waived for the whole job, or for this piece."""
        pk = piece.row.pk if piece else None
        return frozenset(w.code for w in self.waivers if w.fitting_id in (None, pk))

    @cached_property
    def readings(self) -> list[Outcome]:
        """Every reading ever taken on this job, also those a later one replaced: cure counts them all."""
        return list(
            Outcome.objects.filter(entry__book__job=self.job, answer="value", late=False)
            .select_related("entry")
            .order_by("at", "pk")
        )

    def _paint(self):
        notes = defaultdict(list)
        for note in PaintNote.objects.filter(job=self.job):
            notes[note.panel_id].append(note)
        accepted = {
            consent.panel_id: consent.given_at
            for consent in Consent.objects.filter(job=self.job, kind=Consent.Kind.PAINT).order_by("given_at")
        }
        return notes, accepted

    def _defects(self, rows):
        found = defaultdict(list)
        for defect in (
            Defect.objects.filter(fitting__in=[row.pk for row in rows])
            .select_related("edge", "raised_by", "closed_by")
            .prefetch_related("photos__photo")
            .order_by("pk")
        ):
            found[defect.fitting_id].append(defect)
        return found

    def _piece(self, row, pieces, paint, accepted, defects) -> Piece:
        spec = spec_of(row)
        lines = all_lines(self.plan, spec)
        live = {c.stage: c for c in row.checklists.all() if c.redone_at is None}
        notes = paint.get(row.panel_id, [])
        agreed = accepted.get(row.panel_id)
        return Piece(
            row=row,
            spec=spec,
            name=piece_name(self.body, spec.panel, spec.piece, pieces, self.job.workshop.language),
            edge_names=edge_names(self.body, spec.panel, self.job.workshop.language),
            stages={
                str(stage): StageOnFloor(str(stage), lines[stage], live.get(str(stage))) for stage in Stage
            },
            defects=defects,
            paint=notes,
            # Paint noted after the customer accepted needs a new acceptance.
            paint_accepted=bool(agreed) and all(note.made_at <= agreed for note in notes),
        )

    def _answers(self):
        at = {
            stage.checklist.pk: stage
            for piece in self.pieces
            for stage in piece.stages.values()
            if stage.checklist
        }
        live = OutcomeOn.objects.filter(checklist__in=at, replaced_by__isnull=True, late=False)
        for on in live.select_related("outcome", "outcome__person", "outcome__entry", "edge"):
            at[on.checklist_id].answers[(on.key, on.edge.code if on.edge else "")] = on
        kept = OutcomePhoto.objects.filter(checklist__in=at, late=False)
        for proof in kept.select_related("photo", "upload", "edge", "person").order_by("pk"):
            at[proof.checklist_id].photos[(proof.key, proof.edge.code if proof.edge else "")].append(proof)
        for signoff in SignOff.objects.live().filter(checklist__in=at).select_related("signing__person"):
            at[signoff.checklist_id].signoffs[signoff.meaning] = signoff

    def _stock(self):
        """Lots and rolls by code as the answers name them; only those, a shelf can be long."""
        codes, rolls = set(), set()
        for piece in self.pieces:
            for stage in piece.stages.values():
                for on in stage.answers.values():
                    for name, value in (on.outcome.value or {}).items():
                        if isinstance(value, str):
                            (rolls if name == "roll" else codes).add(value)
        return stock(self.job.workshop_id, codes, rolls)


def stock(workshop_id: int, codes, rolls):
    """Lots by (kind, code) and rolls by code, upper-cased; a code may stand on several shelves."""
    lots = {}
    if codes:
        wanted = Lot.objects.filter(material__workshop=workshop_id, code__in=set(codes))
        for lot in wanted.select_related("material"):
            lots[(lot.material.kind, lot.code)] = lot
    found = {}
    if rolls:
        wanted = Roll.objects.filter(lot__material__workshop=workshop_id, code__in=set(rolls))
        for roll in wanted.select_related("lot", "lot__material"):
            found[(roll.lot.code, roll.code)] = roll
    return lots, found


def spec_of(row: Fitting) -> PieceSpec:
    """The set-out of one fitting as the plan's conditions read it."""
    return PieceSpec(
        panel=row.panel.code,
        piece=row.piece,
        panel_kind=row.panel.kind,
        material=row.material,
        features=frozenset(row.features),
        cut=row.cut,
        cover=row.cover,
        edges=tuple(
            EdgeSpec(edge.code, edge.kind, edge.finish, edge.return_mm, edge.primer)
            for edge in row.edges.all()
        ),
        people=len(row.people.all()),
    )


def people_needed(spec: PieceSpec) -> int:
    return 2 if Feature.LARGE in spec.features else 1
