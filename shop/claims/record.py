"""One piece of film as the record has it: what was answered at one edge, by whom, when, and in which entry.

It reads film that is off the car as well as film that is on, stages carried from film before it among them.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from shop.photos.models import Photo
from shop.record.models import Entry
from shop.templatetags.words import day, in_language
from shop.units import METRIC, US
from shop.work.checklist import Line
from shop.work.floor import Floor, Piece, StageOnFloor, film_floor
from shop.work.kinds import Scope, Stage, title
from shop.work.models.fitting import Fitting
from shop.work.models.proof import OutcomeOn
from shop.work.progress import listed

MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class Source:
    """One entry of a job's book; `job_id` None for the workshop's own."""

    job_id: int | None
    job: str
    number: int
    verb: str
    at: datetime


@dataclass(frozen=True)
class Shown:
    """A photo of the place as it was then."""

    photo: Photo
    at: datetime
    who: str
    what: str


class FilmRecord:
    """`edge` is a code, empty for the piece as a whole; then every edge of it counts."""

    def __init__(self, film: Fitting, edge: str = "") -> None:
        self.film = Fitting.objects.for_work().select_related("job__body", "job__workshop").get(pk=film.pk)
        self.floor: Floor = film_floor(self.film)
        self.piece: Piece = self.floor.pieces[0]
        self.edge = edge
        self.job = self.film.job
        self.zone = ZoneInfo(self.job.workshop.zone)
        self.units = US if self.job.workshop.unit_system == "us" else METRIC
        self.language = self.job.workshop.language

    def asks(self, line: Line) -> bool:
        """Whether the line is asked here: lines that are not of edges always are."""
        return line.scope != Scope.EDGE or not self.edge or self.edge in line.edges

    def edge_lines(self, stage: str) -> list[Line]:
        return [
            line for line in self.piece.stages[stage].lines if line.scope == Scope.EDGE and self.asks(line)
        ]

    def answers(self, stage: StageOnFloor, line: Line) -> list[OutcomeOn]:
        """The live answers to a line, at this edge where it is asked by edge."""
        places = [self.edge] if self.edge and line.scope == Scope.EDGE else line.places()
        return [stage.answers[(line.key, place)] for place in places if (line.key, place) in stage.answers]

    def started(self, clock: str) -> OutcomeOn | None:
        """The start of a clock: flash_off, flooding, cure."""
        for stage in self.piece.stages.values():
            for line in stage.lines:
                if line.starts == clock:
                    return stage.answers.get((line.key, ""))
        return None

    def hands(self) -> set[int]:
        """Whoever worked on it, by name or by what they entered."""
        return set(self.piece.hands) | {named.person_id for named in self.film.people.all()}

    def photos(self) -> list[Shown]:
        """Photos of this edge then, those of the last stage first; of every edge where none is named."""
        found: dict[int, Shown] = {}
        for stage in reversed(list(self.piece.stages.values())):
            what = in_language(title(Stage(stage.stage)), self.language).lower()
            for (_, edge), proofs in stage.photos.items():
                if edge != self.edge and (self.edge or not edge):
                    continue
                for proof in proofs:
                    if proof.photo_id and not proof.set_aside:
                        found.setdefault(
                            proof.photo_id, Shown(proof.photo, proof.at, proof.person.name, what)
                        )
        return list(found.values())

    # -------------------------------------------------------------- in words

    def chosen(self, line: Line, on: OutcomeOn) -> str:
        """What was chosen, or that it was not there and why; empty for a plain tick."""
        if on.outcome.answer == "na":
            return f"not here: {on.outcome.reason}"
        value = on.outcome.value or {}
        words = [
            in_language(field.choices[value[field.name]], self.language).lower()
            for field in line.fields
            if value.get(field.name) in field.choices
        ]
        return ", ".join(words)

    def who_when(self, answers: Sequence[OutcomeOn]) -> str:
        """`Ines Vidal, 2 March 2026, 12:00`; from the first to the last moment where there are several."""
        names = list(dict.fromkeys(on.outcome.person.name for on in answers))
        moments = sorted(on.outcome.at for on in answers)
        when = self.when(moments[0])
        if moments[-1] - moments[0] >= MINUTE:
            there = moments[-1].astimezone(self.zone)
            same = there.date() == moments[0].astimezone(self.zone).date()
            when += f" to {there:%H:%M}" if same else f" to {self.when(moments[-1])}"
        return f"{listed(names)}, {when}"

    def when(self, moment: datetime) -> str:
        there = moment.astimezone(self.zone)
        return f"{day(there)}, {there:%H:%M}"

    def sources(self, answers: Iterable[OutcomeOn]) -> tuple[Source, ...]:
        entries = {on.outcome.entry_id: on.outcome.entry for on in answers}
        return tuple(self.source(entry) for entry in entries.values())

    def source(self, entry: Entry) -> Source:
        return Source(self.job.pk, self.job.number, entry.number, entry.verb, entry.happened_at)
