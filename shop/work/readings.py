"""Readings, lots and choices: what is typed becomes whole numbers of a named unit, and is shown with its verdict."""

from collections.abc import Callable, Mapping
from datetime import date

from shop import units
from shop.reasons import Reason, Refused, Weight
from shop.templatetags.words import in_language
from shop.work import conditions, told
from shop.work.checklist import Field, Line
from shop.work.dewpoint import dew_point_c
from shop.work.floor import Floor, Piece, StageOnFloor
from shop.work.kinds import Answer

PARSE: Mapping[str, Callable[[str, str], int]] = {
    "0.01 °C": units.parse_c100,
    "0.1 %": lambda text, system: units.parse_rh10(text),
    "mm": units.parse_mm,
}
SHOW: Mapping[str, Callable[[int, str], str]] = {
    "0.01 °C": units.format_c100,
    "0.1 %": lambda value, system: units.format_rh10(value),
    "mm": units.format_mm,
}
CODES = ("lot", "roll")


def read_values(line: Line, given: Mapping | None, system: str) -> dict | None:
    """What was given for each field of a line, as stored: whole numbers, codes in capitals, days as ISO text.

    Numbers are taken as stored, texts are read as typed ("21,4", "70 °F"). Refused with a sentence for each
    field that cannot be read; a field the line does not have is refused too.
    """
    if not given:
        return None
    fields = {field.name: field for field in line.fields}
    read, wrong = {}, []
    for name, value in given.items():
        field = fields.get(name)
        if field is None:
            wrong.append(Reason("answer_unfit", f"“{line.text['en']}” has no field {str(name)[:40]}."))
            continue
        try:
            read[name] = _read(field, value, system)
        except ValueError as fault:
            wrong.append(Reason("answer_unfit", f"{in_language(field.label)}: {fault}"))
    if wrong:
        raise Refused(wrong)
    return {name: value for name, value in read.items() if value != ""}


def _read(field: Field, value, system: str) -> int | str:
    if isinstance(value, bool) or not isinstance(value, int | str):
        raise ValueError("give a whole number or a short text.")
    if field.unit in PARSE:
        read = PARSE[field.unit](value, system) if isinstance(value, str) else value
        return _plausible(field, read)
    text = str(value).strip()[:80]
    if field.unit in CODES:
        return text.upper()
    if field.unit == "date" and text:
        return date.fromisoformat(text).isoformat()
    if field.unit == "choice" and text not in field.choices:
        raise ValueError("choose one of the words offered.")
    return text


def _plausible(field: Field, value: int) -> int:
    """Bounds of the instrument, not of the trade: nobody reads these in a bay."""
    least, most = {"0.01 °C": (-4000, 8000), "0.1 %": (1, 1000), "mm": (0, 100_000)}[field.unit]
    if not least <= value <= most:
        raise ValueError("that figure is no reading from a bay; look again.")
    return value


def reading_of(floor: Floor, piece: Piece, here: StageOnFloor, line: Line, now, edge: str = "") -> dict:
    """One reading, lot or choice line for the page: its fields, what is kept, and what that means."""
    on = here.answers.get((line.key, edge))
    outcome = on.outcome if on and on.outcome.answer == Answer.VALUE else None
    value = (outcome.value or {}) if outcome else {}
    language = floor.job.workshop.language
    system = conditions.units_of(floor)
    return {
        "key": line.key,
        "panel": piece.place,
        "edge": edge,
        "name": piece.edge_names.get(edge, edge),
        "text": in_language(line.text, language),
        "why": in_language(line.why, language),
        "caution": in_language(line.caution, language),
        "kind": line.kind,
        "scope": line.scope,
        "kept": outcome is not None or (on is not None and on.outcome.answer == Answer.NA),
        "na": line.na,
        "optional": not line.required,
        "not_here": on is not None and on.outcome.answer == Answer.NA,
        "seen": on.outcome_id if on else 0,
        "fields": [_field(field, value, language, system, piece) for field in line.fields],
        "said": _said(floor, on),
        "verdict": _verdict(floor, piece, line, value, now) if outcome and now else [],
        "scale": _scale(value, system) if outcome else None,
    }


def _field(field: Field, value: Mapping, language: str, system: str, piece: Piece) -> dict:
    kept = value.get(field.name)
    shown = SHOW[field.unit](kept, system) if field.unit in SHOW and isinstance(kept, int) else (kept or "")
    roll = piece.row.roll
    offered = {"lot": roll.lot.code, "roll": roll.code}.get(field.name, "") if roll else ""
    return {
        "name": field.name,
        "label": in_language(field.label, language),
        "unit": unit_word(field.unit, system),
        "of": field.unit,
        "shown": shown,
        "offered": offered,
        "numeric": field.unit in PARSE,
        "date": field.unit == "date",
        "choices": [(code, in_language(words, language)) for code, words in field.choices.items()],
        "required": field.required,
    }


def unit_word(unit: str, system: str) -> str:
    us = system == units.US
    return {"0.01 °C": "°F" if us else "°C", "0.1 %": "%", "mm": "in" if us else "mm"}.get(unit, "")


def _said(floor: Floor, on) -> str:
    if on is None:
        return ""
    at = on.outcome.at.astimezone(told.zone(floor))
    text = f"{on.outcome.person.name}, {at:%H:%M}"
    return f"{text}: {on.outcome.reason}" if on.outcome.reason else text


def _verdict(floor: Floor, piece: Piece, line: Line, value: Mapping, now) -> list[Reason]:
    if line.key == conditions.CLIMATE:
        found = conditions.climate(floor, piece, now, wet=True)
        return found or [Reason("good", _dry_enough(floor, value), Weight.NOTE)]
    return [
        reason
        for field in line.fields
        if field.limits and isinstance(value.get(field.name), int)
        for reason in _against_limits(floor, piece, field, value[field.name])
    ]


def _dry_enough(floor: Floor, value: Mapping) -> str:
    dew = round(dew_point_c(value["air_c100"] / 100, value["humidity_rh10"] / 10) * 100)
    margin = units.format_difference_c100(value["panel_c100"] - dew, conditions.units_of(floor))
    return f"Dry enough: {margin} above the dew point"


def _against_limits(floor: Floor, piece: Piece, field: Field, value: int) -> list[Reason]:
    limits = conditions.rule(floor, piece, "limits", field.limits)
    system = conditions.units_of(floor)
    show = SHOW[field.unit]
    label = in_language(field.label, floor.job.workshop.language)
    for key, word, weight in (
        ("stop_below", "below", Weight.STOP),
        ("stop_above", "above", Weight.STOP),
        ("note_below", "below", Weight.NOTE),
        ("note_above", "above", Weight.NOTE),
    ):
        limit = limits.get(key)
        if limit is not None and ((word == "below" and value < limit) or (word == "above" and value > limit)):
            text = f"{label} {show(value, system)} is {word} {show(limit, system)}."
            return [Reason("out_of_limits", text, weight)]
    return []


def _scale(value: Mapping, system: str) -> dict | None:
    if not all(isinstance(value.get(name), int) for name in ("air_c100", "humidity_rh10", "panel_c100")):
        return None
    dew = round(dew_point_c(value["air_c100"] / 100, value["humidity_rh10"] / 10) * 100)
    panel = value["panel_c100"]
    dew_word, panel_word = units.format_c100(dew, system), units.format_c100(panel, system)
    return {
        "dew_c100": min(max(dew, 0), 4000),
        "panel_c100": min(max(panel, 0), 4000),
        "dew": dew_word,
        "panel": panel_word,
        "wet": panel < dew,
        "label": f"Dew point {dew_word}, panel {panel_word}",
    }
