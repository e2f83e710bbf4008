"""A working day for tests: a small shop, one car, and short words for the floor's acts."""

from datetime import timedelta

from shop import models
from shop.intake.names import body_of
from shop.intake.panels import make_panels
from shop.people.identity import Claimed, Proven, SignedIn
from shop.record.actions import keep_private
from shop.work import actions, leaving, progress, setout, states
from shop.work.floor import Floor
from shop.work.kinds import LineKind, Scope
from tests import make

VALUES = {
    "air_c100": 2140,
    "humidity_rh10": 500,
    "panel_c100": 2000,
    "lowest_c100": 1900,
    "highest_c100": 2200,
    "allowance_mm": 70,
    "return_mm": 8,
    "lot": "L-2209",
    "roll": "R-1",
    "primer_lot": "P-1",
    "slip_lot": "S-1",
    "tack_lot": "T-1",
    "opened_on": "2026-02-01",
    "expires_on": "2027-02-01",
}


class Day:
    def __init__(self):
        self.now = make.NOW
        self.shop = make.workshop()
        person = lambda name, *roles: make.person(self.shop, name, *roles)  # noqa: E731
        self.ines, self.jonas = person("Ines", "installer"), person("Jonas", "installer")
        self.marek, self.both = person("Marek", "inspector"), person("Both", "installer", "inspector")
        self.petra = person("Petra", "owner", "desk")
        self.sheet = make.document(self.shop, "film", "films/defaults.toml")
        self.job = make.job(self.shop)
        make_panels(self.job.vehicle, body_of(self.job.body))
        self.roll = make.roll(self.shop, sheet=self.sheet)
        for kind in ("primer", "slip", "tack"):
            material = models.Material.objects.create(workshop=self.shop, kind=kind, name=f"Harbour {kind}")
            models.Lot.objects.create(
                material=material, code=f"{kind[0].upper()}-1", received_on="2026-01-10"
            )
        self.photos = 0

    def tick_clock(self, **span):
        self.now += timedelta(**span) if span else timedelta(seconds=20)
        return self.now

    pass_time = tick_clock

    def stranger(self):
        return make.person(make.workshop(name="Elsewhere"), "Otto", "owner", "installer", "inspector")

    # ------------------------------------------------------------------ set-out

    def set_out(self, *panels, people=None):
        setout.set_out_many(
            job=self.job,
            panels=panels,
            roll=self.roll,
            people=[p.pk for p in people or (self.ines, self.jonas)],
            by=SignedIn(self.petra),
            now=self.tick_clock(),
        )

    def correct(self, panel, **piece):
        setout.set_out(
            job=self.job,
            panel=panel,
            pieces=[{"piece": 1, **piece}],
            by=SignedIn(self.petra),
            now=self.tick_clock(),
        )

    # ------------------------------------------------------------------ answers

    def answer(self, key, *panels, edges=(), answer="done", by=None, **more):
        return actions.answer(
            job=self.job,
            key=key,
            panels=list(panels),
            edges=list(edges),
            answer=answer,
            by=Claimed(by or self.ines),
            now=self.tick_clock(),
            **more,
        )

    tick = answer

    def start(self, key, *panels, **more):
        return self.answer(key, *panels, answer="start", **more)

    def read(self, key, *panels, edges=(), by=None, **value):
        return self.answer(key, *panels, edges=edges, answer="value", value=value, by=by)

    def finish(self, *stages, only="", card=None, but="", by=None, **values):
        """Answer and photograph all that is open on these stages."""
        for stage in stages:
            for place in [piece.place for piece in Floor(self.job).pieces if only in ("", piece.place)]:
                self._finish(place, stage, card, but, by, VALUES | values)

    def _finish(self, place, stage, card, but, by, values):
        facts = self._facts(place)
        for line in Floor(self.job).piece(place).stages[stage].lines:
            here = progress.stage_of(facts, stage)
            missing, unproven = progress.open_places(here, line), progress.photo_places(here, line)
            who = by or (self.marek if line.second else self.ines)
            if line.key == but or (card is not None and line.card != card):
                continue
            if missing:
                places = [] if line.scope == Scope.CAR else [place]
                edges = [edge for edge in missing if edge]
                self._settle(line, places, edges, who, values)
            for edge in unproven:
                self.prove(self.photo(), line.key, place, edge, by=who)
            if missing or unproven:
                # An answer may open or settle other lines; reading the floor anew only then saves half the day.
                facts = self._facts(place)

    def _facts(self, place):
        return states.facts_of(Floor(self.job))[place]

    def _settle(self, line, places, edges, who, values):
        if line.kind in (LineKind.READING, LineKind.LOT, LineKind.CHOICE):
            value = {
                f.name: next(iter(f.choices)) if f.choices else values.get(f.name, 100) for f in line.fields
            }
            self.answer(line.key, *places, edges=edges, answer="value", value=value, by=who)
        else:
            answer = "start" if line.kind == LineKind.TIMER else "done"
            self.answer(line.key, *places, edges=edges, answer=answer, by=who)

    def open_keys(self, place, stage) -> set[str]:
        here = progress.stage_of(states.facts_of(Floor(self.job))[place], stage)
        return {line.key for line in here.lines if progress.open_places(here, line)}

    # ------------------------------------------------------------------ proof

    def photo(self):
        self.photos += 1
        return models.Photo.objects.create(
            workshop=self.shop,
            sha256=f"{self.photos:064x}",
            size=5000,
            type="jpeg",
            w=1400,
            h=1050,
            kept_at=self.now,
        )

    def prove(self, photo, key, place, edge="", by=None):
        return actions.keep_photo(
            job=self.job,
            photo=photo,
            places=[{"line": key, "panel": place, "edge": edge}],
            by=Claimed(by or self.ines),
            now=self.tick_clock(),
        )

    def agreement(self):
        strokes = keep_private(self.shop, "[[[1,1],[900,300]]]")
        return models.Consent.objects.create(
            job=self.job, kind="defect", text="as it is", strokes=strokes, given_at=self.now
        )

    def put_right(self, defect, *, photos, agreed=None):
        return actions.put_right(
            job=self.job,
            defect=models.Defect.objects.get(pk=defect.pk),
            disposition="put_right",
            kind="lifted_edge" if defect.kind == "not_named_yet" else defect.kind,
            photos=photos,
            agreed=agreed,
            by=Claimed(self.ines),
            now=self.tick_clock(),
        )

    # ------------------------------------------------------------------ signing

    def sign(self, meaning, by=None, panels=None, **more):
        signer = by or (self.marek if meaning in ("hidden", "released") else self.ines)
        return actions.sign(
            job=self.job,
            meaning=meaning,
            panels=panels or [piece.place for piece in Floor(self.job).pieces],
            by=Proven(signer, "pin"),
            now=self.tick_clock(),
            **more,
        )

    def lay(self, place, by=None):
        """From the dry card to laid and sealed."""
        self.finish("tack", only=place, card="before", by=by)
        self.tick_clock(minutes=20)
        self.finish("tack", only=place, card="after", by=by)
        self.finish("seal", only=place, by=by)
        facts = states.facts_of(Floor(self.job))[place]
        if progress.hidden_lines(facts):
            self.sign("hidden", panels=[place])
        self.finish("steam", only=place, by=by)
        self.sign("laid", by=by, panels=[place])

    def in_the_way(self):
        return leaving.in_the_way(Floor(self.job), self.now)
