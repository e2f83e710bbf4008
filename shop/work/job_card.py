"""The job card: the checklist of one car on paper, for the day the tablet dies.

Its lines come from the same function as those of the bay. What is answered already is ticked; the rest is ticked by
hand and entered later. It carries no value about the owner, as it lies about in the bay.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from shop import units
from shop.papers import address_of, code_svg, compose, paper_size
from shop.printing import Printed
from shop.templatetags.words import in_language
from shop.work import conditions, told
from shop.work.checklist import Field, Line, work_to
from shop.work.floor import Floor, Piece
from shop.work.kinds import Answer, Meaning, Scope, Stage
from shop.work.readings import SHOW, unit_word

ABREAST = 5
HOLDS = {
    Meaning.HIDDEN: "Hold: a second person looks at these and signs before they are hidden.",
    Meaning.RELEASED: "Hold: answered by a second person after cure, who filmed none of it.",
}


@dataclass
class Box:
    """One thing to tick; `state` is done, na, wrong or empty."""

    name: str = ""
    finish: str = ""
    state: str = ""


@dataclass
class Cell:
    """What one line asks of one piece."""

    piece: str
    boxes: list[Box] = field(default_factory=list)
    blanks: list[dict[str, str]] = field(default_factory=list)


@dataclass
class Row:
    text: str
    why: str
    caution: str
    hold: str
    photo: bool
    optional: bool
    by_edge: bool
    cells: list[Cell | None]


def card(floor: Floor, *, now) -> Printed:
    """All of the paper as plain values, ready for the press."""
    job = floor.job
    context = card_context(floor, now=now)
    return compose(
        "work/job_card.html",
        context,
        style="job_paper.css",
        mark=f"job-card.{job.number}",
        made=context["printed_at"],
        served={"static:qr.svg": ("image/svg+xml", code_svg(context["address"]))},
    )


def card_context(floor: Floor, *, now) -> dict[str, Any]:
    job = floor.job
    return {
        "job": job,
        "language": job.workshop.language,
        "paper_size": paper_size(job.workshop.country),
        "address": address_of(job.workshop, f"/bay/{job.pk}/"),
        "printed_at": now,
        "pieces": [_piece(piece) for piece in floor.pieces],
        "conditions": _conditions(floor),
        "held": list(_held(floor)),
        "stages": [_stage(floor, stage) for stage in Stage],
    }


def _piece(piece: Piece) -> dict[str, Any]:
    roll = piece.row.roll
    return {
        "name": piece.name,
        "film": f"{roll.lot.material.name}, lot {roll.lot.code}, roll {roll.code}"
        if roll
        else "no roll named",
        "how": f"{piece.spec.cut.replace('_', '-')}, {piece.spec.cover}",
        "people": ", ".join(sorted(link.person.name for link in piece.row.people.all())),
    }


def _held(floor: Floor) -> Iterator[str]:
    """What stops work whatever is ticked."""
    for piece in floor.pieces:
        if piece.paint and not piece.paint_accepted:
            yield f"{piece.name}: {told.paint_concern(piece)}, not accepted by the customer. No film goes on."
        for defect in piece.defects:
            if defect.closed_at is None:
                yield f"{piece.name}: a defect is open ({defect.kind.replace('_', ' ')})."


def _stage(floor: Floor, stage: Stage) -> dict[str, Any]:
    language = floor.job.workshop.language
    entry = next(one for one in floor.plan["stages"] if one["key"] == stage)
    asked = [piece for piece in floor.pieces if piece.stages[stage].lines]
    signing = next(
        (
            one
            for one in floor.plan["signings"]
            if one["stages"][-1] == stage and one["meaning"] != Meaning.HIDDEN
        ),
        None,
    )
    return {
        "n": list(Stage).index(stage) + 1,
        "title": in_language(entry["title"], language),
        "none": "" if asked else in_language(entry.get("none", {"en": "Nothing to do here."}), language),
        "car": list(_rows(floor, stage, asked[:1], car=True)),
        "tables": [
            {"names": [piece.name for piece in group], "rows": list(_rows(floor, stage, group, car=False))}
            for group in _abreast(asked)
        ],
        "steps": _steps(floor, stage),
        "signing": in_language(signing["title"], language) if signing else "",
        "second": bool(signing) and signing["by"] == "second",
    }


def _abreast(pieces: list[Piece]) -> list[list[Piece]]:
    """As few tables as will do, evenly filled."""
    tables = -(-len(pieces) // ABREAST) or 1
    size = -(-len(pieces) // tables) or 1
    return [pieces[n : n + size] for n in range(0, len(pieces), size)]


def _rows(floor: Floor, stage: Stage, group: Sequence[Piece], *, car: bool) -> Iterator[Row]:
    """The lines of these pieces in the plan's order, each once."""
    lines: dict[str, Line] = {}
    for piece in group:
        for line in piece.stages[stage].lines:
            if (line.scope == Scope.CAR) == car:
                lines.setdefault(line.key, line)
    order = {line["key"]: n for n, line in enumerate(floor.plan["lines"])}
    language = floor.job.workshop.language
    for key in sorted(lines, key=lambda key: order[key]):
        line = lines[key]
        yield Row(
            text=in_language(line.text, language),
            why=in_language(line.why, language),
            caution=in_language(line.caution, language),
            hold=HOLDS.get(line.hold, ""),
            photo=line.photo,
            optional=not line.required,
            by_edge=line.scope == Scope.EDGE,
            cells=[_cell(floor, piece, stage, key) for piece in group],
        )


def _cell(floor: Floor, piece: Piece, stage: Stage, key: str) -> Cell | None:
    here = piece.stages[stage]
    line = here.line(key)
    if line is None:
        return None
    edges = {edge.code: edge for edge in piece.spec.edges}
    cell = Cell(piece.name)
    for place in line.places():
        on = here.answers.get((key, place))
        edge = edges.get(place)
        finish = edge.finish if edge else ""
        if edge and edge.return_mm:
            finish += f" {edge.return_mm} mm"
        cell.boxes.append(Box(piece.edge_names.get(place, place), finish, _state(on)))
    if not line.edges:
        value = (here.answers[key, ""].outcome.value or {}) if (key, "") in here.answers else {}
        cell.blanks = [_blank(floor, part, value.get(part.name)) for part in line.fields]
    return cell


def _state(on) -> str:
    """How the box stands: anything settled is done."""
    if on is None:
        return ""
    answer = on.outcome.answer
    return "done" if answer in (Answer.DONE, Answer.VALUE, Answer.START) else str(answer)


def _blank(floor: Floor, part: Field, value) -> dict[str, str]:
    """A figure to be written in, or the one that is kept."""
    system, language = conditions.units_of(floor), floor.job.workshop.language
    shown = (
        SHOW[part.unit](value, system) if part.unit in SHOW and isinstance(value, int) else str(value or "")
    )
    return {"label": in_language(part.label, language), "unit": unit_word(part.unit, system), "shown": shown}


def _steps(floor: Floor, stage: Stage) -> list[dict[str, str]]:
    """The card to work by, each sentence once, with the panels it is for where it is not for all."""
    language = floor.job.workshop.language
    found: dict[str, dict[str, Any]] = {}
    for piece in floor.pieces:
        for step in work_to(floor.plan, piece.spec, stage):
            row = found.setdefault(
                step.key,
                {
                    "text": in_language(step.text, language),
                    "caution": in_language(step.caution, language),
                    "for": [],
                },
            )
            row["for"].append(piece.name)
    for row in found.values():
        row["for"] = "" if len(row["for"]) == len(floor.pieces) else ", ".join(row["for"])
    return list(found.values())


def _conditions(floor: Floor) -> list[tuple[str, list[str]]]:
    """Limits and clocks, once for each film sheet in use."""
    found: dict[int, tuple[list[Piece], list[str]]] = {}
    for piece in floor.pieces:
        pieces, _ = found.setdefault(piece.row.sheet_id, ([], _limits(floor, piece)))
        pieces.append(piece)
    whole = len(found) == 1
    return [("" if whole else ", ".join(p.name for p in pieces), said) for pieces, said in found.values()]


def _limits(floor: Floor, piece: Piece) -> list[str]:
    system, limits = conditions.units_of(floor), conditions.limits_of(floor, piece)

    def warm(c100: int) -> str:
        return units.format_c100(c100, system)

    stale = piece.row.sheet.body.get("stale", {}).get("minutes", floor.plan["stale"][0]["minutes"])
    margin = units.format_difference_c100(limits.dew_margin_c100, system)
    cure = conditions.rule(floor, piece, "cure")
    bands = ", ".join(f"{band['hours']} h from {warm(band['from_c100'])}" for band in cure["bands"])
    return [
        f"Panel: below {warm(limits.stop_below_c100)} or above {warm(limits.stop_above_c100)} work stops.",
        f"Air: below {warm(limits.warn_below_c100)} or above {warm(limits.warn_above_c100)} look twice.",
        f"Humidity: {units.format_rh10(limits.dry_below_rh10)} to {units.format_rh10(limits.damp_above_rh10)}.",
        f"Dew point: for primer the panel stays {margin} above it.",
        f"Wiped edges are flooded within {stale} minutes, or wiped again.",
        f"Cure: {bands}; the clock stops below {warm(cure['stops_below_c100'])}.",
    ]
