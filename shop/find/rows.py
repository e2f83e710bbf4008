"""What the page of a car's whole life is made of."""

from dataclasses import dataclass, field
from datetime import date, datetime

from shop.intake.models import Job, Ownership, Vehicle
from shop.warranty.models import Certificate, Revision
from shop.work.models.fitting import Fitting


@dataclass
class Filmed:
    """One piece of film on a panel, in one job."""

    fitting: Fitting
    name: str
    people: list[str]
    edges: str

    @property
    def is_on(self) -> bool:
        return self.fitting.ended_at is None


@dataclass
class Row:
    """One line of a list on the page: when, what, who, and more."""

    at: datetime
    what: str
    who: str = ""
    more: str = ""
    kind: str = ""
    job: Job | None = None


@dataclass
class Picture:
    photo_id: int
    caption: str
    at: datetime
    who: str = ""


@dataclass
class Paper:
    """A certificate, its revisions, and what the last of them covers: title, last day, panels."""

    certificate: Certificate
    revisions: list[Revision]
    cover: list[tuple[str, date, str]]

    @property
    def withdrawn(self) -> bool:
        return self.revisions[-1].withdrawn_at is not None


@dataclass
class Life:
    vehicle: Vehicle
    jobs: list[Job]
    owners: list[Ownership]
    papers: list[Paper]
    panels: dict[str, list[Filmed]] = field(default_factory=dict)
    found: list[Row] = field(default_factory=list)
    defects: list[Row] = field(default_factory=list)
    readings: list[Row] = field(default_factory=list)
    signings: list[Row] = field(default_factory=list)
    pictures: list[Picture] = field(default_factory=list)
    books: list[tuple[Job, list[Row]]] = field(default_factory=list)
