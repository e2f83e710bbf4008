"""One job as it stands on the floor: every live piece of film with its lines, answers, photos and signatures.

Read in a fixed number of queries whatever the size of the car; pages, gate and papers all look through it.
"""

from collections import Counter, defaultdict
from dataclasses import dataclass, field

from shop.film.models import Lot, Roll
from shop.intake.models import Consent, PaintNote
from shop.intake.names import body_of, edge_names, piece_name
from shop.work.checklist import EdgeSpec, Line, PieceSpec, all_lines
from shop.work.kinds import Feature, Scope, Stage
from shop.work.models.fitting import Fitting
from shop.work.models.outcome import Defect, Release, Waiver
from shop.work.models.proof import Checklist, Outcome, OutcomeOn, OutcomePhoto, SignOff

Spot = tuple[str, str]  # line key, edge code or ""
BEFORE_CURE = [str(stage) for stage in Stage if stage is not Stage.CURE]


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

    def __init__(self, job, rows: "_Rows | None" = None):
        rows = rows or _Rows([job])
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

    def _piece(self, row: Fitting, pieces: int, rows: "_Rows") -> Piece:
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
    rows = _Rows(jobs)
    return {job.pk: Floor(job, rows) for job in jobs}


def film_floor(fitting: Fitting) -> Floor:
    """One piece of film alone on its floor, whether it is still on the car or not."""
    return Floor(fitting.job, _Rows([fitting.job], Fitting.objects.filter(pk=fitting.pk)))


class _Rows:
    """Everything the floors of these jobs are built from, each table asked once."""

    def __init__(self, jobs, films=None):
        self.jobs = [job.pk for job in jobs]
        by_pk = {job.pk: job for job in jobs}
        films = Fitting.objects.live() if films is None else films
        self.fittings = _by(films.filter(job__in=self.jobs).for_floor(), "job_id")
        every = [row for rows in self.fittings.values() for row in rows]
        for row in every:
            row.job = by_pk[row.job_id]
        self.before = self._before(every)
        self.checklists = [
            c.pk for row in (*every, *self.before.values()) for c in row.checklists.all() if not c.redone_at
        ]
        self._proof()
        self._paint()
        self.defects = _by(
            Defect.objects.filter(fitting__in=[row.pk for row in every])
            .select_related("edge", "raised_by", "closed_by")
            .prefetch_related("photos__photo")
            .order_by("pk"),
            "fitting_id",
        )
        self.waivers = _by(Waiver.objects.filter(job__in=self.jobs), "job_id")
        self.releases = {r.job_id: r for r in Release.objects.filter(job__in=self.jobs)}
        self.readings = _by(
            Outcome.objects.filter(entry__book__job__in=self.jobs, answer="value", late=False)
            .select_related("entry", "entry__book")
            .defer("entry__body")
            .order_by("at", "pk"),
            lambda outcome: outcome.entry.book.job_id,
        )
        self.hands = self._hands(every)
        workshops = {job.workshop_id for job in jobs}
        self.lots, self.rolls = stock(workshops, *self._codes())

    def _before(self, fittings) -> dict[int, Fitting]:
        """Films that others took the place of; asked for only where a stage is carried from one."""
        panels = {row.panel_id for row in fittings if row.replaces_id and row.from_stage != Stage.WASH}
        if not panels:
            return {}
        ended = Fitting.objects.filter(panel__in=panels, ended_at__isnull=False)
        return ended.prefetch_related("checklists").in_bulk()

    def carried(self, row: Fitting, stage: str) -> Checklist | None:
        """The round of this stage that was done on the film before, however far back."""
        order = list(Stage)
        while row.replaces_id in self.before and order.index(stage) < order.index(row.from_stage):
            row = self.before[row.replaces_id]
            for checklist in row.checklists.all():
                if checklist.stage == stage and checklist.redone_at is None:
                    return checklist
        return None

    def _proof(self):
        self.answers, self.photos, self.signoffs = {}, {}, {}
        for on in OutcomeOn.objects.live().filter(checklist__in=self.checklists).with_outcome():
            spot = (on.key, on.edge.code if on.edge else "")
            self.answers.setdefault(on.checklist_id, {})[spot] = on
        kept = OutcomePhoto.objects.filter(checklist__in=self.checklists, late=False)
        for proof in kept.select_related("photo", "upload", "edge", "person").order_by("pk"):
            spot = (proof.key, proof.edge.code if proof.edge else "")
            self.photos.setdefault(proof.checklist_id, {}).setdefault(spot, []).append(proof)
        signed = SignOff.objects.live().filter(checklist__in=self.checklists)
        # A signing holds every line it was over: read once, not once for each of its sign-offs.
        for signoff in signed.prefetch_related("signing__person"):
            self.signoffs.setdefault(signoff.checklist_id, {})[signoff.meaning] = signoff

    def _paint(self):
        self.paint = _by(
            PaintNote.objects.filter(job__in=self.jobs, struck_at__isnull=True),
            lambda note: (note.job_id, note.panel_id),
        )
        accepted = Consent.objects.filter(job__in=self.jobs, kind=Consent.Kind.PAINT).order_by("given_at")
        self.accepted = {(c.job_id, c.panel_id): c.given_at for c in accepted}

    def _hands(self, fittings) -> dict[int, frozenset[int]]:
        """Who ever laid hands on each piece: any round, also answers and signatures replaced since.

        A carried stage ties to the new film those who did it on the film before.
        """
        hands = defaultdict(set)
        stages = {(row.pk, stage): row.pk for row in fittings for stage in BEFORE_CURE}
        for row in fittings:
            for stage in BEFORE_CURE:
                if checklist := self.carried(row, stage):
                    stages[checklist.fitting_id, stage] = row.pk
        pks = {fitting for fitting, _ in stages}
        before_cure = {"checklist__fitting__in": pks, "checklist__stage__in": BEFORE_CURE}
        answered = OutcomeOn.objects.filter(**before_cure).exclude(key__in=self._car_lines(fittings))
        signed = SignOff.objects.filter(**before_cure).exclude(meaning="hidden")
        for rows, person in ((answered, "outcome__person"), (signed, "signing__person")):
            for *at, who in rows.values_list("checklist__fitting", "checklist__stage", person).distinct():
                if tuple(at) in stages:
                    hands[stages[tuple(at)]].add(who)
        return {fitting: frozenset(people) for fitting, people in hands.items()}

    def _car_lines(self, fittings) -> set[str]:
        plans = {row.job.plan_id: row.job.plan.body for row in fittings}
        return {
            line["key"] for plan in plans.values() for line in plan["lines"] if line["scope"] == Scope.CAR
        }

    def _codes(self):
        """Codes of lots and rolls that answers name; only those are looked up, a shelf can be long."""
        lots, rolls = set(), set()
        for answers in self.answers.values():
            for on in answers.values():
                for name, value in (on.outcome.value or {}).items():
                    if isinstance(value, str):
                        (rolls if name == "roll" else lots).add(value)
        return lots, rolls


def _by(rows, key) -> dict:
    grouped = defaultdict(list)
    for row in rows:
        grouped[key(row) if callable(key) else getattr(row, key)].append(row)
    return grouped


def stock(workshops, codes, rolls):
    """Lots by (kind, code) and rolls by code, upper-cased; a code may stand on several shelves."""
    lots = {}
    if codes:
        wanted = Lot.objects.filter(material__workshop__in=workshops, code__in=set(codes))
        for lot in wanted.select_related("material"):
            lots[(lot.material.kind, lot.code)] = lot
    found = {}
    if rolls:
        wanted = Roll.objects.filter(lot__material__workshop__in=workshops, code__in=set(rolls))
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
