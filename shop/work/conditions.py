"""What air, clocks and readings say at one moment about one piece of film, as reasons for the gate."""

from datetime import datetime, timedelta

from shop.reasons import Reason
from shop.units import METRIC, US
from shop.work import timers
from shop.work.checklist import Line
from shop.work.dewpoint import AirLimits, air_reasons
from shop.work.floor import Floor, Piece
from shop.work.kinds import Answer, Meaning, Stage
from shop.work.models.proof import Outcome

CLIMATE = "degrease.climate"


def for_answer(floor: Floor, piece: Piece, line: Line, answer: str, at: datetime) -> list[Reason]:
    """Reasons that concern this answer: air for primer and flooding, clocks for flooding, cure for the round."""
    if answer in (Answer.NA, Answer.WRONG):
        return []
    if line.starts == "flooding":
        clocks = [*fresh(floor, piece, at).reasons, *flashed(floor, piece, at)]
        return [*climate(floor, piece, at, wet=True), *placed(piece, clocks, Stage.DEGREASE)]
    if line.stage == Stage.PRIMER and line.kind != "lot":
        return climate(floor, piece, at, wet=False)
    if line.hold == Meaning.RELEASED:
        timer = cure(floor, piece, at)
        return placed(piece, timer.reasons, Stage.CURE) if timer else []
    return []


def for_signing(floor: Floor, piece: Piece, meaning: str, now: datetime) -> list[Reason]:
    if meaning != Meaning.RELEASED:
        return []
    timer = cure(floor, piece, now)
    return placed(piece, timer.reasons, Stage.CURE) if timer else []


def placed(piece: Piece, reasons, stage: str) -> list[Reason]:
    """What a clock says, with the piece it says it of."""
    return [
        Reason(r.code, f"{piece.name}: {r.text[0].lower()}{r.text[1:]}", r.weight, f"{piece.place}/{stage}")
        for r in reasons
    ]


def limits_of(floor: Floor, piece: Piece) -> AirLimits:
    """The film sheet's limits where it has them, else the plan's."""

    def limit(name: str, key: str) -> int:
        return rule(floor, piece, "limits", name)[key]

    return AirLimits(
        warn_below_c100=limit("air_c100", "note_below"),
        warn_above_c100=limit("air_c100", "note_above"),
        stop_below_c100=limit("panel_c100", "stop_below"),
        stop_above_c100=limit("panel_c100", "stop_above"),
        dry_below_rh10=limit("humidity_rh10", "note_below"),
        damp_above_rh10=limit("humidity_rh10", "note_above"),
        dew_margin_c100=limit("dew_margin_c100", "stop_below"),
    )


def units_of(floor: Floor) -> str:
    return US if floor.job.workshop.unit_system == "us" else METRIC


def last_reading(piece: Piece, key: str = CLIMATE) -> Outcome | None:
    stage = piece.find(key)
    on = stage[0].answers.get((key, "")) if stage else None
    return on.outcome if on and on.outcome.answer == Answer.VALUE else None


def climate(floor: Floor, piece: Piece, at: datetime, *, wet: bool) -> list[Reason]:
    """What the last reading says now. Without one, or with one grown old, it has to be taken first."""
    reading = last_reading(piece)
    where = f"{piece.place}/{Stage.DEGREASE}#{CLIMATE}"
    if reading is None:
        text = f"{piece.name}: air, humidity and panel have not been read yet."
        return [Reason("reading_missing", text, where=where)]
    good_for = rule(floor, piece, "reading")["valid_minutes"] * 60
    if not timers.still_good(_moment(reading), at, good_for_s=good_for):
        text = (
            f"{piece.name}: the reading is older than {timers.said(timedelta(seconds=good_for))}. Read again."
        )
        return [Reason("reading_missing", text, where=where)]
    value = reading.value or {}
    found = air_reasons(
        value.get("air_c100"),
        value.get("humidity_rh10"),
        value.get("panel_c100"),
        limits_of(floor, piece),
        wet=wet,
        units=units_of(floor),
    )
    return [Reason(r.code, r.text, r.weight, where) for r in found]


def fresh(floor: Floor, piece: Piece, at: datetime) -> timers.Timer:
    """Whether the wiped edges may still be flooded at that moment, or were when they were."""
    stale = floor.plan["stale"][0]
    sheet = piece.row.sheet.body.get("stale", {})
    stage, line = piece.find(stale["after"]) or (None, None)
    wipes = {}
    if stage is not None:
        for edge in line.edges:
            on = stage.answers.get((line.key, edge))
            wipes[edge] = _moment(on.outcome) if on and on.outcome.answer == Answer.DONE else None
    return timers.freshness(
        wipes,
        rewiped=_when(piece, stale["refreshed_by"]),
        flooded=_when(piece, stale["until"]),
        now=at,
        limit_s=60 * sheet.get("minutes", stale["minutes"]),
    )


def flashed(floor: Floor, piece: Piece, at: datetime) -> list[Reason]:
    timer = flash_off(floor, piece, at)
    return list(timer.reasons) if timer else []


def flash_off(floor: Floor, piece: Piece, at: datetime) -> timers.Timer | None:
    started = _started(piece, "flash_off")
    if started is None:
        return None
    window = rule(floor, piece, "primer")
    flooded = _started(piece, "flooding")
    return timers.flash_off(
        started, flooded or at, min_s=window["flash_off_least_s"], max_s=window["flash_off_most_s"]
    )


def cure(floor: Floor, piece: Piece, at: datetime) -> timers.Timer | None:
    """The cure clock: it runs from *laid and sealed*; None before that."""
    signed = piece.stages[Stage.SEAL].signoffs.get(Meaning.LAID)
    if signed is None:
        return None
    cured = rule(floor, piece, "cure")
    bands = sorted(cured["bands"], key=lambda band: -band["from_c100"])
    return timers.cure(
        signed.signing.at,
        at,
        [(_moment(outcome), c100) for outcome in floor.readings for c100 in _lowest(outcome)],
        timers.CureBands(
            fast_from_c100=bands[0]["from_c100"],
            fast_s=bands[0]["hours"] * 3600,
            slow_s=bands[-1]["hours"] * 3600,
            stop_below_c100=cured["stops_below_c100"],
        ),
        units=units_of(floor),
    )


def _lowest(outcome: Outcome) -> list[int]:
    value = outcome.value or {}
    return [value[name] for name in ("lowest_c100", "air_c100") if isinstance(value.get(name), int)][:1]


def rule(floor: Floor, piece: Piece, *path: str) -> dict:
    """A rule of the film sheet, else of the plan."""
    for document in (piece.row.sheet.body, floor.plan):
        found = document
        for step in path:
            found = found.get(step, {}) if isinstance(found, dict) else {}
        if found:
            return found
    raise KeyError("/".join(path))


def _moment(outcome: Outcome) -> timers.Moment:
    """A press whose time is not sure lies between the bound it was given and its arrival."""
    if outcome.sure:
        return timers.Moment(outcome.at, outcome.at)
    return timers.Moment(outcome.at, max(outcome.at, outcome.entry.received_at))


def _when(piece: Piece, key: str) -> timers.Moment | None:
    found = piece.find(key)
    on = found[0].answers.get((key, "")) if found else None
    return _moment(on.outcome) if on and on.outcome.answer in (Answer.DONE, Answer.START) else None


def _started(piece: Piece, clock: str) -> timers.Moment | None:
    for stage in piece.stages.values():
        for line in stage.lines:
            if line.starts == clock:
                return _when(piece, line.key)
    return None
