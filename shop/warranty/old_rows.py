"""The rows of older papers, read by the same rules as at the desk; whatever is wrong is named by row and column."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from shop.documents.models import Document
from shop.intake import arrival
from shop.intake import vin as vins
from shop.intake.names import body_of
from shop.intake.sheet import Body
from shop.intake.typed import Typed
from shop.reasons import Weight
from shop.templatetags.words import in_language
from shop.warranty.columns import COLUMNS, plain, read_day
from shop.warranty.spreadsheet import Table

CONFIRMED = "read off an older paper"
NO_VIN = "the older paper names none"
NUMBER_MOST, FILM_MOST, LABEL_MOST = 20, 80, 80


@dataclass(frozen=True)
class Fault:
    row: int
    column: str
    text: str

    def __str__(self) -> str:
        return (
            f"Row {self.row}, {self.column}: {self.text}" if self.column else f"Row {self.row}: {self.text}"
        )


@dataclass(frozen=True)
class OldPaper:
    """One row. `panels` are pairs of code and words; `notes` are what to look at without being wrong."""

    row: int
    number: str
    car: arrival.Car
    owner: arrival.Owner
    body: str
    panels: tuple[tuple[str, str], ...]
    film: str
    first_day: date
    last_day: date
    work_last_day: date | None
    notes: tuple[str, ...] = ()


@dataclass
class Shapes:
    """The bodies of the workshop: by the words they may be named with, and each with the words of its panels."""

    named: dict[str, str] = field(default_factory=dict)
    panels: dict[str, dict[str, tuple[str, str]]] = field(default_factory=dict)

    def fitting(self, words: list[str]) -> str:
        """The first body that has all these panels; nothing where none has."""
        asked = {plain(word) for word in words}
        return next((name for name, known in self.panels.items() if asked <= known.keys()), "")


def shapes_of(workshop) -> Shapes:
    found = Shapes()
    documents = sorted(
        Document.objects.published(workshop, Document.Kind.BODY), key=lambda row: row.name != "sedan"
    )
    for document in documents:
        body = body_of(document)
        found.panels[document.name] = _panels(body, workshop.language)
        title = in_language(document.body.get("title", ""), workshop.language)
        found.named |= {plain(document.name): document.name, plain(title): document.name}
    return found


def _panels(body: Body, language: str) -> dict[str, tuple[str, str]]:
    known: dict[str, tuple[str, str]] = {}
    for panel in body.panels:
        pair = (panel.code, in_language(panel.title, language)[:LABEL_MOST])
        words = (
            [panel.code, *panel.title.values()] if isinstance(panel.title, dict) else [panel.code, pair[1]]
        )
        known |= {plain(word): pair for word in words}
    return known


def read_rows(
    table: Table, columns: Mapping[str, str], *, days: str, shapes: Shapes, today: date
) -> tuple[list[OldPaper], list[Fault]]:
    """Every row as a paper, or its faults. A number that comes twice is a fault of the later row."""
    at = {name: table.headings.index(heading) for name, heading in columns.items()}
    papers: list[OldPaper] = []
    faults: list[Fault] = []
    rows_by_number: dict[str, int] = {}
    for number, cells in table.rows:
        row = _Row(number, {name: cells[place] if place < len(cells) else "" for name, place in at.items()})
        if len(cells) > len(table.headings) and any(cells[len(table.headings) :]):
            row.wrong("", "It has more cells than there are headings: look for a separator too many.")
        paper = row.paper(days=days, shapes=shapes, today=today)
        before = rows_by_number.setdefault(row.cells["number"].casefold(), number)
        if before != number and row.cells["number"]:
            row.wrong("number", f"This number stands in row {before} already.")
        faults += row.faults
        if paper and not row.faults:
            papers.append(paper)
    return papers, faults


class _Row:
    def __init__(self, number: int, cells: dict[str, str]) -> None:
        self.number = number
        self.cells = dict.fromkeys(COLUMNS, "") | cells
        self.faults: list[Fault] = []

    def wrong(self, name: str, text: str) -> None:
        self.faults.append(Fault(self.number, COLUMNS[name].title if name else "", text))

    def paper(self, *, days: str, shapes: Shapes, today: date) -> OldPaper | None:
        typed, cells = Typed(), self.cells
        number = typed.line(
            cells["number"],
            name="The number",
            most=NUMBER_MOST,
            where="#number",
            missing="Every paper has a number.",
        )
        film = typed.line(cells["film"], name="The film", most=FILM_MOST, where="#film")
        owner = arrival.read_owner(
            typed,
            name=cells["name"] or "-",
            phone=cells["phone"],
            mail=cells["mail"],
            address="",
        )
        if not cells["name"] and (cells["phone"] or cells["mail"]):
            self.wrong("name", "There is a phone number or mail address, but nobody's name.")
        notes: list[str] = []
        car = self._car(typed, notes)
        for reason in typed.reasons:
            if reason.weight is not Weight.NOTE:
                name = reason.where.removeprefix("#")
                self.wrong(name if name in COLUMNS else "", reason.text)
        span = self._span(days, today)
        body, panels = self._panels(shapes)
        if self.faults or span is None:
            return None
        if not cells["name"]:
            owner = arrival.Owner("", "", "", "")
        return OldPaper(self.number, number, car, owner, body, panels, film, *span, notes=tuple(notes))

    def _car(self, typed: Typed, notes: list[str]) -> arrival.Car:
        cells = self.cells
        slips = [reason for reason in vins.problems(cells["vin"]) if cells["vin"]]
        notes += [reason.text for reason in slips if reason.code == "vin_check_digit"]
        waivable = any(reason.weight is Weight.WAIVABLE for reason in slips)
        return arrival.read_car(
            typed,
            vin=cells["vin"],
            vin_confirmed=CONFIRMED if waivable else "",
            chassis=cells["chassis"] if not cells["vin"] else "",
            chassis_reason=NO_VIN if cells["chassis"] and not cells["vin"] else "",
            plate=cells["plate"],
            model=cells["model"],
            colour=cells["colour"],
            colour_code="",
        )

    def _span(self, days: str, today: date) -> tuple[date, date, date | None] | None:
        first, last = self._day("first_day", days), self._day("last_day", days)
        work = self._day("work_last_day", days) if self.cells["work_last_day"] else None
        if first and first > today:
            self.wrong("first_day", "That day is still to come: an older paper began before today.")
        for name, end in (("last_day", last), ("work_last_day", work)):
            if first and end and end < first:
                self.wrong(name, "The last day lies before the first.")
            elif first and end and end.year - first.year > 60:
                self.wrong(name, "No cover lasts so long: look at the year.")
        return (first, last, work) if first and last else None

    def _day(self, name: str, order: str) -> date | None:
        if not self.cells[name]:
            self.wrong(name, "There is no day in it.")
            return None
        try:
            return read_day(self.cells[name], order)
        except ValueError as error:
            self.wrong(name, str(error))
            return None

    def _panels(self, shapes: Shapes) -> tuple[str, tuple[tuple[str, str], ...]]:
        words = [word.strip() for word in self.cells["panels"].replace(";", ",").replace("+", ",").split(",")]
        words = [word for word in words if word]
        if not words:
            self.wrong("panels", "It names no panel.")
            return "", ()
        wanted = self.cells["body"]
        body = shapes.named.get(plain(wanted), "") if wanted else shapes.fitting(words)
        if wanted and not body:
            self.wrong("body", f"There is no body sheet called “{wanted[:40]}” here.")
            return "", ()
        known = shapes.panels.get(body) or {
            key: pair for one in shapes.panels.values() for key, pair in one.items()
        }
        unknown = [word for word in words if plain(word) not in known]
        if unknown:
            who = "This body has no panel" if wanted else "No body here has a panel"
            self.wrong("panels", f"{who} called “{unknown[0][:40]}”.")
            return "", ()
        if not body:
            self.wrong("panels", "No one body has all these panels: name the body in a column of its own.")
            return "", ()
        return body, tuple(dict.fromkeys(known[plain(word)] for word in words))
