"""What a stranger is told about a certificate: whether it is real, in force, and for which panels until when.

Worked out from the facts of the revision in force and today's date on the workshop's calendar. Nothing about the
owner enters here: the facts hold references to such values, and nothing on this side looks them up.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from zoneinfo import ZoneInfo

from shop.warranty.cover import cover_of
from shop.warranty.models import Certificate, Revision
from shop.warranty.shown import Facts, read_facts, self_checked
from shop.work.progress import listed

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
MANY_NAMES = 3


@dataclass(frozen=True)
class Until:
    """Panels whose film is covered to the same day, as one row under the verdict."""

    words: str
    last_day: date
    over: bool


@dataclass
class Row:
    """One kind of cover of one panel: what it is called and its last day."""

    title: str
    last_day: date
    over: bool = False


@dataclass
class PanelCover:
    label: str
    code: str
    by_kind: dict[str, Row] = field(default_factory=dict)

    @property
    def rows(self) -> list[Row]:
        return list(self.by_kind.values())

    @property
    def over(self) -> bool:
        return all(row.over for row in self.rows)


@dataclass(frozen=True)
class Standing:
    """`code` is in_force, ended or withdrawn; `verdict` says it in words."""

    code: str
    verdict: str
    revision: Revision
    facts: Facts
    until: tuple[Until, ...]
    panels: tuple[PanelCover, ...]
    self_checked: bool
    made: datetime
    withdrawn_on: date | None = None

    @property
    def is_good(self) -> bool:
        return self.code == "in_force" and not self.imported

    @property
    def imported(self) -> bool:
        """Whether this paper was brought in from before, without anything that shows how the film was laid."""
        return bool(self.facts.get("imported"))

    @property
    def count(self) -> str:
        return counted(len(self.panels))

    @property
    def films(self) -> list[str]:
        """Colour and finish of each film, as on the paper."""
        pieces = [piece for panel in self.facts["panels"] for piece in panel["pieces"]]
        said = (", ".join(filter(None, (p["film"]["colour"], p["film"]["finish"]))) for p in pieces)
        return [film for film in dict.fromkeys(said) if film]


VERDICTS = {"in_force": "Real, and in force", "ended": "Real, but ended", "withdrawn": "Withdrawn"}
# Of a paper from before nobody can say more than that the workshop has it on its list.
OLD_VERDICTS = VERDICTS | {
    "in_force": "On the workshop's list, no evidence",
    "ended": "On the workshop's list, but ended",
}


def standing(certificate: Certificate, *, now) -> Standing:
    """How this certificate stands at this moment."""
    revision = certificate.current()
    facts = read_facts(revision.facts)
    zone = ZoneInfo(revision.zone)
    today = now.astimezone(zone).date()
    panels = _panels(facts, today, {} if revision.withdrawn_at else _as_it_went(certificate, revision, today))
    code = _code(revision, panels)
    return Standing(
        code=code,
        verdict=(OLD_VERDICTS if certificate.imported else VERDICTS)[code],
        revision=revision,
        facts=facts,
        until=_until(panels, today),
        panels=panels,
        self_checked=self_checked(facts),
        made=datetime.fromisoformat(facts["issued_at"]),
        withdrawn_on=revision.withdrawn_at.astimezone(zone).date() if revision.withdrawn_at else None,
    )


def _code(revision: Revision, panels: tuple[PanelCover, ...]) -> str:
    if revision.withdrawn_at:
        return "withdrawn"
    return "ended" if all(panel.over for panel in panels) else "in_force"


def _as_it_went(certificate: Certificate, revision: Revision, today: date) -> dict[tuple[str, str], date]:
    """Last days cut short since the paper: film taken off, a car sold under terms that do not pass on."""
    cover = cover_of(certificate.vehicle, today=today)
    days: dict[tuple[str, str], date] = {}
    for line in revision.cover.all():
        place = (line.panel, line.kind)
        last = cover.last_day(line) or line.first_day
        days[place] = min(days.get(place, last), last)
    return days


def _panels(facts: Facts, today: date, went: Mapping[tuple[str, str], date]) -> tuple[PanelCover, ...]:
    """Each panel with the last day of each kind of cover."""
    panels = {panel["code"]: PanelCover(panel["label"], panel["code"]) for panel in facts["panels"]}
    for line in facts["cover"]:
        day = date.fromisoformat(line["last_day"])
        row = panels[line["panel"]].by_kind.setdefault(line["kind"], Row(line["title"], day))
        # Pieces of one panel may end on different days; the panel is whole only until the first of them.
        row.last_day = min(row.last_day, day, went.get((line["panel"], line["kind"]), day))
        row.over = row.last_day < today
    return tuple(panels.values())


def _until(panels: tuple[PanelCover, ...], today: date) -> tuple[Until, ...]:
    groups: dict[date, list[str]] = defaultdict(list)
    for panel in panels:
        film = panel.by_kind.get("material")
        if film:
            groups[film.last_day].append(panel.label)
    return tuple(
        Until(_named(labels, len(groups)), day, day < today)
        for day, labels in sorted(groups.items(), reverse=True)
    )


def _named(labels: list[str], groups: int) -> str:
    if len(labels) <= MANY_NAMES and groups > 1:
        return listed([labels[0], *(label[:1].lower() + label[1:] for label in labels[1:])])
    return f"{counted(len(labels))} panel{'s' if len(labels) > 1 else ''}"


def counted(count: int) -> str:
    """
    >>> counted(4), counted(23)
    ('four', '23')
    """
    return NUMBERS[count] if count < len(NUMBERS) else str(count)
