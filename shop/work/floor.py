"""One job as it stands on the floor: every live piece of film with its lines, answers, photos and signatures.

Read in a fixed number of queries whatever the size of the car; pages, gate and papers all look through it.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from shop.intake.models import PaintNote
from shop.intake.names import body_of, edge_names, piece_name
from shop.work.checklist import EdgeSpec, Line, PieceSpec, all_lines
from shop.work.floor_rows import Rows, Spot
from shop.work.kinds import Feature, Scope, Stage
from shop.work.models.fitting import Fitting
from shop.work.models.outcome import Defect
from shop.work.models.proof import Checklist, Outcome, OutcomeOn, OutcomePhoto, SignOff


@dataclass
class StageOnFloor:
    """The live round of one stage of one piece."""

    stage: str
    lines: list[Line]
    checklist: Checklist | None = None
    answers: dict[Spot, OutcomeOn] = field(default_factory=dict)
    photos: dict[Spot, list[OutcomePhoto]] = field(default_factory=dict)
    signoffs: dict[str, SignOff] = field(default_factory=dict)
    carried: bool = False  # done on the film this one took the place of

    def line(self, key: str) -> Line | None:
        return next((line for line in self.lines if line.key == key), None)

    def has_photo(self, key: str, edge: str) -> bool:
        return any(proof.photo_id and not proof.set_aside for proof in self.photos.get((key, edge), ()))


@dataclass(eq=False)
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
    hands: frozenset[int] = frozenset()

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
    """One job. `Floor(job)` reads it alone, `floors(jobs)` many at once."""

    def __init__(self, job, rows: "Rows | None" = None):
        rows = rows or Rows([job])
        self.job = job
        self.plan = job.plan.body
        self.scopes = {line["key"]: line["scope"] for line in self.plan["lines"]}
        self.body = body_of(job.body)
        order = {panel.code: n for n, panel in enumerate(self.body.panels)}
        fittings = sorted(
            rows.fittings.get(job.pk, []),
            key=lambda row: (order.get(row.panel.code, 999), row.panel.code, row.piece),
        )
        pieces_of = Counter(row.panel.code for row in fittings)
        self.pieces = [self._piece(row, pieces_of[row.panel.code], rows) for row in fittings]
        self.by_place = {piece.place: piece for piece in self.pieces}
        self.lots, self.rolls = rows.lots, rows.rolls
        self.waivers = rows.waivers.get(job.pk, [])
        self._readings = rows.readings.get(job.pk, [])
        self.release = rows.releases.get(job.pk)

    def piece(self, place: str) -> Piece | None:
        return self.by_place.get(place)

    def waived(self, piece: Piece | None = None) -> frozenset[str]:
        """Codes waived for the whole job, or for this piece."""
        pk = piece.row.pk if piece else None
        return frozenset(w.code for w in self.waivers if w.fitting_id in (None, pk))

    @property
    def readings(self) -> list[Outcome]:
        """Every reading ever taken on this job, also those a later one replaced: cure counts them all."""
        return self._readings

    def _piece(self, row: Fitting, pieces: int, rows: "Rows") -> Piece:
        spec = spec_of(row)
        lines = all_lines(self.plan, spec)
        live = {c.stage: c for c in row.checklists.all() if c.redone_at is None}
        notes = rows.paint.get((self.job.pk, row.panel_id), [])
        agreed = rows.accepted.get((self.job.pk, row.panel_id))
        language = self.job.workshop.language
        stages = {}
        for stage in map(str, Stage):
            checklist = live.get(stage) or rows.carried(row, stage)
            here = StageOnFloor(stage, lines[Stage(stage)], checklist)
            here.carried = bool(checklist) and checklist.fitting_id != row.pk
            if checklist:
                here.answers = rows.answers.get(checklist.pk, {})
                here.photos = rows.photos.get(checklist.pk, {})
                here.signoffs = rows.signoffs.get(checklist.pk, {})
            stages[stage] = here
        return Piece(
            row=row,
            spec=spec,
            name=piece_name(self.body, spec.panel, spec.piece, pieces, language),
            edge_names=edge_names(self.body, spec.panel, language),
            stages=stages,
            defects=rows.defects.get(row.pk, []),
            paint=notes,
            # Paint noted after the customer accepted needs a new acceptance.
            paint_accepted=bool(agreed) and all(note.made_at <= agreed for note in notes),
            hands=rows.hands.get(row.pk, frozenset()),
        )


def floors(jobs) -> dict[int, Floor]:
    """The floors of many jobs in as many queries as of one."""
    jobs = list(jobs)
    rows = Rows(jobs)
    return {job.pk: Floor(job, rows) for job in jobs}


def floor_of(job, asked: Iterable[tuple[str, str]]) -> Floor:
    """As much of the floor as these (line key, place) need: their panels, where all of them are asked there.

    A line of the whole car needs all of it, and so does a refusal, which is told of the whole car.
    """
    asked = list(asked)
    scopes = {line["key"]: line["scope"] for line in job.plan.body["lines"]}
    if asked and all(place and scopes.get(key, Scope.CAR) != Scope.CAR for key, place in asked):
        panels = {place.partition(".")[0] for _, place in asked}
        part = Floor(job, Rows([job], Fitting.objects.live().filter(panel__code__in=panels)))
        if all((piece := part.piece(place)) and piece.find(key) for key, place in asked):
            return part
    return Floor(job)


def film_floor(fitting: Fitting) -> Floor:
    """One piece of film alone on its floor, whether it is still on the car or not."""
    return Floor(fitting.job, Rows([fitting.job], Fitting.objects.filter(pk=fitting.pk)))


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
