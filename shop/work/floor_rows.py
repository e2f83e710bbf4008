"""The rows that floors are built from: each table asked once, whatever the number of cars and pieces."""

import re
from collections import defaultdict

from shop.documents.models import Document
from shop.film.models import Lot, Mix, Roll
from shop.intake.models import Consent, PaintNote
from shop.people.models import Person
from shop.work.kinds import Scope, Stage
from shop.work.models.fitting import Fitting
from shop.work.models.outcome import Defect, Release, Waiver
from shop.work.models.proof import Checklist, Outcome, OutcomeOn, OutcomePhoto, SignOff

Spot = tuple[str, str]  # line key, edge code or ""
A_DAY = re.compile(r"\d{4}-\d\d-\d\d")
BEFORE_CURE = [str(stage) for stage in Stage if stage is not Stage.CURE]


class Rows:
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
        self.edges = {e.pk: e for row in (*every, *self.before.values()) for e in row.edges.all()}
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
        self._share_sheets(every)
        self._share_people(every)

    def _before(self, fittings) -> dict[int, Fitting]:
        """Films that others took the place of; asked for only where a stage is carried from one."""
        panels = {row.panel_id for row in fittings if row.replaces_id and row.from_stage != Stage.WASH}
        if not panels:
            return {}
        ended = Fitting.objects.filter(panel__in=panels, ended_at__isnull=False)
        return ended.prefetch_related("checklists", "edges").in_bulk()

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
            self.answers.setdefault(on.checklist_id, {})[self._spot(on)] = on
        kept = OutcomePhoto.objects.filter(checklist__in=self.checklists, late=False)
        for proof in kept.select_related("photo", "upload").order_by("pk"):
            self.photos.setdefault(proof.checklist_id, {}).setdefault(self._spot(proof), []).append(proof)
        signed = SignOff.objects.live().filter(checklist__in=self.checklists)
        # A signing holds every line it was over: read once, not once for each of its sign-offs.
        for signoff in signed.prefetch_related("signing"):
            self.signoffs.setdefault(signoff.checklist_id, {})[signoff.meaning] = signoff

    def _spot(self, row: OutcomeOn | OutcomePhoto) -> Spot:
        row.edge = self.edges[row.edge_id] if row.edge_id else None
        return row.key, row.edge.code if row.edge else ""

    def _share_sheets(self, fittings):
        """One film sheet lies on many pieces and rolls, and is the largest thing read here: once each."""
        materials = [row.roll.lot.material for row in fittings if row.roll_id]
        named = {row.sheet_id for row in (*fittings, *materials)}
        sheets = Document.objects.in_bulk(named - {None})
        for row in (*fittings, *materials):
            row.sheet = sheets.get(row.sheet_id)

    def _share_people(self, fittings):
        """Everybody named on the floor, asked for once: the same few names stand on hundreds of rows."""
        answers = [on.outcome for here in self.answers.values() for on in here.values()]
        photos = [one for here in self.photos.values() for spot in here.values() for one in spot]
        signings = [one.signing for here in self.signoffs.values() for one in here.values()]
        hands = [link for row in fittings for link in row.people.all()]
        rows = [*answers, *photos, *signings, *hands]
        people = Person.objects.in_bulk({row.person_id for row in rows})
        for row in rows:
            row.person = people[row.person_id]

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
    """Lots by (kind, code) and rolls by code, upper-cased; a code may stand on several shelves.

    What stands on a sprayer is the label of a mix: it counts as its lot, for the day it was made up.
    """
    lots = {}
    if codes:
        wanted = Lot.objects.filter(material__workshop__in=workshops, code__in=set(codes))
        for lot in wanted.select_related("material"):
            lots[(lot.material.kind, lot.code)] = lot
        labels = {code for code in codes if not A_DAY.fullmatch(code)} - {code for _, code in lots}
        if labels:
            for mix in Mix.objects.filter(workshop__in=workshops, label__in=labels).select_related("lot"):
                lots[(mix.kind, mix.label)] = mix
    found = {}
    if rolls:
        wanted = Roll.objects.filter(lot__material__workshop__in=workshops, code__in=set(rolls))
        for roll in wanted.select_related("lot", "lot__material"):
            found[(roll.lot.code, roll.code)] = roll
    return lots, found
