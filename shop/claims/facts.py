"""What the record says about the work at the place of a claim, each fact with the entries it stands on.

Nothing here is typed by anybody now: it is read from what was answered, measured, signed and found then. Which
lines tell of what is read off the plan the film was laid by.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from shop.claims.record import FilmRecord, Source
from shop.templatetags.words import day, in_language
from shop.units import format_c100, format_difference_c100, format_mm, format_rh10
from shop.work import conditions, timers
from shop.work.checklist import Line
from shop.work.dewpoint import margin_c
from shop.work.floor import StageOnFloor
from shop.work.kinds import Finish, LineKind, Meaning, Stage, title
from shop.work.models.proof import OutcomeOn
from shop.work.pieces import least_return_mm
from shop.work.progress import listed


@dataclass(frozen=True)
class Fact:
    """One row: what it is about, what the record says, from which entries. `odd` where it is outside a limit."""

    key: str
    value: str
    sources: tuple[Source, ...] = ()
    odd: bool = False


def film_facts(record: FilmRecord) -> list[Fact]:
    """Everything about the work at this place, in the order it was done."""
    found = [
        edge(record),
        air(record),
        wiped(record),
        to_water(record),
        *primed(record),
        laid(record),
        film(record),
        *mixes(record),
        *sealed(record),
        *looked_over(record),
        *signed(record),
        *found_then(record),
    ]
    return [fact for fact in found if fact]


# ------------------------------------------------------------------ the edge and its preparation


def edge(record: FilmRecord) -> Fact | None:
    """How the edge ends and how deep its return is: measured where it was, else as set out."""
    row = next((row for row in record.film.edges.all() if row.code == record.edge), None)
    if row is None:
        return None
    said = in_language(title(Finish(row.finish)), record.language).lower()
    measured = _measured_return(record)
    depth = measured.outcome.value["return_mm"] if measured else row.return_mm
    if depth is None:
        return Fact("Edge", f"{said}.")
    least = least_return_mm(record.film.sheet.body, record.floor.plan)
    text = f"{said}, return {format_mm(depth, record.units)} {'measured' if measured else 'as set out'}"
    text += f"; least asked is {format_mm(least, record.units)}." if least else "."
    return Fact("Edge", text, record.sources([measured] if measured else []), odd=depth < least)


def _measured_return(record: FilmRecord) -> OutcomeOn | None:
    stage = record.piece.stages[Stage.SEAL]
    for line in record.edge_lines(Stage.SEAL):
        for on in record.answers(stage, line):
            if isinstance((on.outcome.value or {}).get("return_mm"), int):
                return on
    return None


def air(record: FilmRecord) -> Fact:
    """Air and panel as last read before laying, judged by the limits of the film sheet or the plan."""
    found = record.piece.find(conditions.CLIMATE)
    on = found[0].answers.get((conditions.CLIMATE, "")) if found else None
    reading = conditions.last_reading(record.piece)
    if on is None or reading is None:
        return Fact("Air", "not read.", odd=True)
    value = reading.value or {}
    warm, damp, panel = (value.get(name) for name in ("air_c100", "humidity_rh10", "panel_c100"))
    said = [
        f"{word} {write(number)}"
        for word, number, write in (
            ("air", warm, lambda c100: format_c100(c100, record.units)),
            ("humidity", damp, format_rh10),
            ("panel", panel, lambda c100: format_c100(c100, record.units)),
        )
        if number is not None
    ]
    if panel is not None and warm is not None and damp:
        margin = round(100 * margin_c(panel / 100, warm / 100, damp / 10))
        said.append(f"{format_difference_c100(margin, record.units)} above dew point")
    outside = conditions.climate(record.floor, record.piece, reading.at, wet=True)
    odd = any(reason.code not in ("good", "clock_unsure") for reason in outside)
    return Fact("Air", f"{', '.join(said)}; {record.who_when([on])}.", record.sources([on]), odd=odd)


def wiped(record: FilmRecord) -> Fact | None:
    found = record.piece.find(record.floor.plan["stale"][0]["after"])
    return _done(record, "Wiped", *found) if found else None


def to_water(record: FilmRecord) -> Fact | None:
    """How long the wiped edges of this piece stood before it was flooded, against the limit."""
    start = record.started("flooding")
    if start is None:
        return None
    timer = conditions.fresh(record.floor, record.piece, start.outcome.at)
    if timer.band not in ("ended", "stale"):
        return None
    own = record.film.sheet.body.get("stale", {})
    limit = own.get("minutes", record.floor.plan["stale"][0]["minutes"])
    text = f"{timers.said(timer.elapsed)}; the limit is {limit} min."
    return Fact("Wipe to water", text, record.sources([start]), odd=timer.band == "stale")


def primed(record: FilmRecord) -> list[Fact]:
    stage = record.piece.stages[Stage.PRIMER]
    lines = record.edge_lines(Stage.PRIMER)
    if not lines:
        return [Fact("Primer", f"none named on this {'edge' if record.edge else 'panel'}.")]
    facts = [_done(record, "Primed", stage, line) for line in lines]
    return [fact for fact in facts if fact] + _lots(record, stage, "Primer")


# ------------------------------------------------------------------ laid, sealed, checked


def laid(record: FilmRecord) -> Fact | None:
    start = record.started("flooding")
    if start is None:
        return None
    names = sorted(named.person.name for named in record.film.people.all())
    named = f"; named on it: {listed(names)}" if names else ""
    return Fact("Laid", f"{record.who_when([start])}{named}.", record.sources([start]))


def film(record: FilmRecord) -> Fact:
    roll = record.film.roll
    if roll is None:
        return Fact("Film", "no roll named.", odd=True)
    start = record.started("flooding")
    laid_on = _day(record, start.outcome.at) if start else None
    text = (
        f"{roll.lot.material.name}, lot {roll.lot.code}, roll {roll.code}; "
        f"received {day(roll.received_on)}, good until {day(roll.expires_on)}."
    )
    return Fact("Film", text, odd=bool(laid_on and roll.expires_on < laid_on))


def mixes(record: FilmRecord) -> list[Fact]:
    return _lots(record, record.piece.stages[Stage.TACK], "Slip and tack")


def sealed(record: FilmRecord) -> list[Fact]:
    """How the edge was dried, and the rest of the edge seal that was answered here, in one row."""
    stage = record.piece.stages[Stage.SEAL]
    facts: list[Fact | None] = []
    ticks: list[OutcomeOn] = []
    words: list[str] = []
    for line in record.edge_lines(Stage.SEAL):
        if line.kind == LineKind.CHOICE:
            facts.append(_done(record, "Dried", stage, line))
        elif line.kind == LineKind.TICK and (answers := record.answers(stage, line)):
            ticks += answers
            words.append(f"“{in_language(line.text, record.language)}”")
    if ticks:
        text = f"{', '.join(words)}; {record.who_when(ticks)}."
        facts.append(Fact("Sealed", text, record.sources(ticks)))
    return [fact for fact in facts if fact]


def looked_over(record: FilmRecord) -> list[Fact]:
    """Who went round it for a second look, and whether that was a second person."""
    facts = []
    for stage in record.piece.stages.values():
        for line in stage.lines:
            if not line.second or not record.asks(line):
                continue
            answers = record.answers(stage, line)
            if not answers:
                facts.append(Fact("Looked over", "not looked over.", odd=True))
                continue
            own = any(on.outcome.person_id in record.hands() for on in answers)
            who = "who worked on it too" if own else "a second person"
            text = f"{record.who_when(answers)}, {who}."
            facts.append(Fact("Looked over", text, record.sources(answers), odd=own))
    return facts


def signed(record: FilmRecord) -> list[Fact]:
    facts = []
    for meaning in Meaning:
        signoff = record.piece.signoff(meaning)
        if signoff:
            signing = signoff.signing
            text = f"{signing.person.name}, {record.when(signing.at)}."
            word = in_language(title(meaning), record.language)
            facts.append(Fact(word, text, (record.source(signing.entry),)))
    return facts


def found_then(record: FilmRecord) -> list[Fact]:
    """Defects at this place while the car was here."""
    titles = {kind["code"]: kind["title"] for kind in record.floor.plan.get("defects", ())}
    return [
        Fact(
            "Found then",
            f"{in_language(titles.get(defect.kind, 'something wrong'), record.language).lower()}, "
            f"{day(_day(record, defect.raised_at))}, {defect.raised_by.name}; "
            + ("settled." if defect.closed_at else "open."),
            odd=defect.closed_at is None,
        )
        for defect in record.piece.defects
        if not record.edge or (defect.edge and defect.edge.code == record.edge)
    ]


def _done(record: FilmRecord, key: str, stage: StageOnFloor, line: Line) -> Fact | None:
    if not record.asks(line):
        return None
    answers = record.answers(stage, line)
    if not answers:
        return Fact(key, "not answered.", odd=True) if line.required else None
    said = dict.fromkeys(filter(None, (record.chosen(line, on) for on in answers)))
    head = f"{', '.join(said)}; " if said else ""
    wrong = any(on.outcome.answer == "wrong" for on in answers)
    return Fact(key, f"{head}{record.who_when(answers)}.", record.sources(answers), odd=wrong)


def _lots(record: FilmRecord, stage: StageOnFloor, key: str) -> list[Fact]:
    """The lots of wet things named on a stage; film has a row of its own."""
    facts = []
    for line in stage.lines:
        on = stage.answers.get((line.key, ""))
        value = (on.outcome.value or {}) if on and line.kind == LineKind.LOT else {}
        named = {name: code for name, code in value.items() if name.endswith("_lot")}
        if on and named:
            facts.append(
                Fact(key, f"{_named(named.items())}; {record.who_when([on])}.", record.sources([on]))
            )
    return facts


def _named(lots: Iterable[tuple[str, str]]) -> str:
    return ", ".join(f"{name.removesuffix('_lot')} lot {code}" for name, code in lots)


def _day(record: FilmRecord, moment: datetime):
    return moment.astimezone(record.zone).date()
