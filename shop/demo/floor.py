"""Work as the floor does it, step by step, through the same verbs as the screens."""

from datetime import datetime, timedelta

from shop import clock
from shop.demo.photos import edge_photo
from shop.people.identity import Claimed, Proven
from shop.photos import actions as photos
from shop.work import actions, bay, progress, states
from shop.work.floor import Floor
from shop.work.kinds import STAGES_OF, LineKind, Meaning, Scope, Stage

PRESS = timedelta(seconds=20)


class Crew:
    """Moves one car through its stages, one press after another on a clock of its own."""

    def __init__(self, *, job, tablet, installers, inspector, lots, at: datetime):
        self.job, self.tablet, self.installers, self.inspector = job, tablet, installers, inspector
        self.lots, self.at = lots, at

    def tick(self, minutes: float = 0) -> datetime:
        self.at += timedelta(minutes=minutes) if minutes else PRESS
        clock.set_to(self.at)
        return self.at

    def claimed(self, person):
        return Claimed(person, self.tablet)

    def do(self, stage: str, *, card: str | None = None) -> None:
        """Answer every line of a stage that is still open, for every piece, as the installers would."""
        seen: set = set()
        for piece in Floor(self.job).pieces:
            for line in piece.stages[stage].lines:
                if (card is not None and line.card != card) or not line.required:
                    continue
                if line.scope == Scope.CAR and line.key in seen:
                    continue
                if line.scope == Scope.PANEL and (line.key, piece.spec.panel) in seen:
                    continue
                seen |= {line.key, (line.key, piece.spec.panel)}
                self.answer(piece, line)

    def answer(self, piece, line) -> None:
        person = self.inspector if line.second else self.installers[0]
        places = [] if line.scope == Scope.CAR else [piece.place]
        common = {
            "job": self.job,
            "key": line.key,
            "panels": places,
            "edges": list(line.edges),
            "by": self.claimed(person),
        }
        if line.kind == LineKind.TIMER:
            actions.answer(**common, answer="start", now=self.tick())
        elif line.kind in (LineKind.READING, LineKind.LOT, LineKind.CHOICE):
            actions.answer(**common, answer="value", value=self.value(piece, line), now=self.tick())
        else:
            actions.answer(**common, answer="done", now=self.tick())
        if line.photo:
            self.photograph(piece, line, person)

    def value(self, piece, line) -> dict:
        roll = piece.row.roll
        known = {
            "air_c100": 2140,
            "humidity_rh10": 520,
            "panel_c100": 1980,
            "lowest_c100": 1930,
            "highest_c100": 2210,
            "allowance_mm": 110 if piece.spec.panel_kind == "bumper" else 65,
            "return_mm": 8,
            "distance_start_mm": 240,
            "distance_end_mm": 241,
            "lot": roll.lot.code if roll else "",
            "roll": roll.code if roll else "",
            "primer_lot": self.lots["primer"].code,
            "slip_lot": self.lots["slip"].code,
            "tack_lot": self.lots["tack"].code,
            "opened_on": self.at.date().isoformat(),
            "expires_on": (self.at.date() + timedelta(days=200)).isoformat(),
        }
        return {field.name: self._value(field, known) for field in line.fields if field.required}

    def _value(self, field, known):
        if field.choices:
            return next(iter(field.choices))
        return known.get(field.name, 100)

    def photograph(self, piece, line, person) -> None:
        """One photo for a whole panel line, one for every two or three edges: touch what it shows."""
        spots = [list(line.edges[n : n + 3]) for n in range(0, len(line.edges), 3)] or [[""]]
        for edges in spots:
            words = f"{self.job.number} {piece.place} {' '.join(edges)}"
            now = self.tick()
            photo = photos.keep(
                workshop=self.job.workshop,
                data=edge_photo(f"{words} {line.key}", words),
                name="edge.jpg",
                by=self.claimed(person),
                now=now,
                job=self.job,
            )
            actions.keep_photo(
                job=self.job,
                photo=photo,
                places=[{"line": line.key, "panel": piece.place, "edge": edge} for edge in edges],
                by=self.claimed(person),
                now=now,
            )

    def sign(self, meaning: str, person) -> None:
        places = [piece.place for piece in Floor(self.job).pieces if self.asks(piece, meaning)]
        if places:
            by = Proven(person, "pin", self.tablet)
            actions.sign(job=self.job, meaning=meaning, panels=places, by=by, now=self.tick(1))

    def asks(self, piece, meaning: str) -> bool:
        facts = states.facts_of(Floor(self.job))[piece.place]
        if meaning == Meaning.HIDDEN:
            return bool(progress.hidden_lines(facts))
        return not progress.is_signed(facts, Meaning(meaning))

    # ------------------------------------------------------------------ the day

    def prepare(self) -> None:
        for stage in STAGES_OF[Meaning.READY]:
            self.do(stage)
            self.tick(4)
        self.sign(Meaning.READY, self.installers[0])

    def lay(self) -> None:
        """Panel by panel: the dry card, flooding before the wipe goes stale, then the card after."""
        self.do(Stage.TACK, card="before")
        self.tick(45)
        self.do(Stage.TACK, card="after")
        self.do(Stage.SEAL)
        self.sign(Meaning.HIDDEN, self.inspector)
        self.do(Stage.STEAM)
        self.sign(Meaning.LAID, self.installers[0])

    def cure(self) -> None:
        """The next day and a bit: one reading, so that the fast band counts, then the edge round."""
        self.tick(60)
        for piece in Floor(self.job).pieces:
            line = piece.stages[Stage.CURE].line("cure.temperatures")
            if line:
                self.answer(piece, line)
                break
        self.tick(24 * 60)
        self.do(Stage.CURE)
        self.sign(Meaning.RELEASED, self.inspector)

    def missing(self) -> list[str]:
        facts = states.facts_of(Floor(self.job))
        return [
            word
            for piece in facts.values()
            for meaning in Meaning
            for word in bay.missing_words(piece, meaning)
        ]
