"""What a plan may hold, and what must agree inside it."""

import re
from collections.abc import Mapping
from typing import Any

from shop.documents.shape import (
    Faults,
    Shape,
    flag,
    list_of,
    matching,
    one_of,
    table,
    table_of,
    text,
    twice,
    whole,
    words,
)
from shop.documents.words import (
    PRIMER_NAMED,
    Card,
    Cover,
    Cut,
    EdgeKind,
    Feature,
    Finish,
    LineKind,
    Material,
    Meaning,
    Scope,
    Stage,
)

READABLE = 30
"""Characters of a line that is answered with wet hands, a metre from the tablet."""

UNITS = ("0.01 °C", "0.1 %", "mm", "s", "lot", "roll", "date", "choice", "text")
KEY = matching(r"[a-z]+\.[a-z_]+", "key such as “degrease.wipe”")
CODE = matching(r"[a-z][a-z0-9_]*", "code such as “wet_edge”")
PANEL_WORD = re.compile(r"panel:[a-z-]+")
CONDITION_WORDS = frozenset(
    word for kind in (Feature, Material, Cut, Cover, EdgeKind, Finish) for word in kind
) | {PRIMER_NAMED}


def condition(value: Any, path: str) -> Faults:
    """One word of the set-out, or a table with one of all, any, not."""
    if isinstance(value, str):
        if value in CONDITION_WORDS or PANEL_WORD.fullmatch(value):
            return []
        return [f"{path}: “{value}” is no feature, material, cut, cover, finish or kind of edge."]
    if not isinstance(value, Mapping) or len(value) != 1 or not set(value) <= {"all", "any", "not"}:
        return [f"{path}: should be one word, or a table with one of all, any, not."]
    if "not" in value:
        return condition(value["not"], f"{path}.not")
    joined = next(iter(value))
    return list_of(condition, least=1)(value[joined], f"{path}.{joined}")


LIMIT = table(
    {"source": text},
    {
        name: whole()
        for name in ("good_from", "good_to", "note_below", "note_above", "stop_below", "stop_above")
    },
)
LIMITS = table_of(
    matching(r"[a-z]+(_[a-z]+)*_(c100|rh10|mm)", "limit with its unit, such as “air_c100”"), LIMIT
)
CURE = table(
    {
        "stops_below_c100": whole(),
        "no_reading": one_of(["slowest"]),
        "bands": list_of(table({"from_c100": whole(), "hours": whole(least=1)}), least=1),
        "source": text,
    }
)
PRIMER = table(
    {"flash_off_least_s": whole(least=0), "flash_off_most_s": whole(least=1), "source": text},
    {"corners_of": list_of(text)},
)
READING = table({"valid_minutes": whole(least=1), "source": text})
PHOTOS = table({"least_side_px": whole(least=1), "source": text})

_FIELD = table(
    {"name": CODE, "unit": one_of(UNITS), "label": words()},
    {"limits": text, "required": flag, "choices": table_of(CODE, words())},
)
_LINE = table(
    {
        "key": KEY,
        "stage": one_of(Stage),
        "scope": one_of(Scope),
        "kind": one_of(LineKind),
        "text": words(READABLE),
        "why": words(),
        "source": text,
    },
    {
        "when": condition,
        "card": one_of([card for card in Card if card]),
        "hold": one_of([Meaning.HIDDEN, Meaning.RELEASED]),
        "photo": flag,
        "second": flag,
        "required": flag,
        "na": flag,
        "starts": one_of(["flash_off", "flooding", "cure"]),
        "caution": words(),
        "fields": list_of(_FIELD, least=1),
    },
)
_STAGE = table({"key": one_of(Stage), "title": words()}, {"none": words()})
_SIGNING = table(
    {
        "meaning": one_of(Meaning),
        "stages": list_of(one_of(Stage), least=1),
        "by": one_of(["named", "second"]),
        "title": words(),
        "sentence": words(),
        "others": words(),
    }
)
_STALE = table(
    {
        "after": KEY,
        "refreshed_by": KEY,
        "until": KEY,
        "broken_by": KEY,
        "minutes": whole(least=1),
        "source": text,
    }
)
_WORK_TO = table(
    {"key": KEY, "stage": one_of(Stage), "text": words(), "source": text},
    {"when": condition, "caution": words()},
)
_TITLED = table({"code": CODE, "title": words()}, {"paint_cut": flag})
_DISPOSITION = table({"code": CODE, "proof": flag, "agreement": flag, "new_fitting": flag, "title": words()})

PARTS: Mapping[str, Shape] = {
    "stages": list_of(_STAGE),
    "signings": list_of(_SIGNING),
    "stale": list_of(_STALE),
    "cure": CURE,
    "reading": READING,
    "limits": LIMITS,
    "primer": PRIMER,
    "photos": PHOTOS,
    "lines": list_of(_LINE, least=1),
    "work_to": list_of(_WORK_TO),
    "not_here": list_of(table({"code": CODE, "text": words(READABLE)}), least=1),
    "defects": list_of(_TITLED, least=1),
    "causes": list_of(_TITLED, least=1),
    "severities": list_of(_TITLED, least=1),
    "dispositions": list_of(_DISPOSITION, least=1),
}

OPTIONAL: Mapping[str, Shape] = {"paint": table({"differs_um10": whole(least=1), "source": text})}
"""Parts that older plans lack; the built-in plan's hold there."""


def agreement(plan: Mapping[str, Any]) -> Faults:
    """What must agree between the parts, once each part has its shape."""
    lines: list[Mapping[str, Any]] = plan["lines"]
    return [
        *_unique(plan),
        *_stages(plan),
        *_signings(plan),
        *(fault for n, line in enumerate(lines) for fault in _line(line, f"lines[{n}]", plan)),
        *_clocks(plan),
    ]


def _unique(plan: Mapping[str, Any]) -> Faults:
    faults = twice(plan["lines"], "key", "lines") + twice(plan["work_to"], "key", "work_to")
    for name in ("not_here", "defects", "causes", "severities", "dispositions"):
        faults += twice(plan[name], "code", name)
    return faults


def _stages(plan: Mapping[str, Any]) -> Faults:
    named = [stage["key"] for stage in plan["stages"]]
    faults = []
    if named != list(Stage):
        faults.append(f"stages: should be these, in this order: {', '.join(Stage)}.")
    empty = [stage for stage in Stage if not any(line["stage"] == stage for line in plan["lines"])]
    return faults + [f"lines: the stage {stage} has none." for stage in empty]


def _signings(plan: Mapping[str, Any]) -> Faults:
    faults = []
    meanings = [signing["meaning"] for signing in plan["signings"]]
    if sorted(meanings) != sorted(Meaning):
        faults.append(f"signings: should be each of {', '.join(Meaning)}, once.")
    signed = [s for signing in plan["signings"] if signing["meaning"] != "hidden" for s in signing["stages"]]
    if sorted(signed) != sorted(Stage):
        faults.append("signings: every stage is signed once by ready, laid or released.")
    for n, signing in enumerate(plan["signings"]):
        for language, sentence in signing["sentence"].items():
            if "{places}" not in sentence:
                faults.append(f"signings[{n}].sentence.{language}: does not say what is signed: {{places}}.")
    return faults


def _line(line: Mapping[str, Any], path: str, plan: Mapping[str, Any]) -> Faults:
    faults = []
    if line["key"].split(".")[0] != line["stage"]:
        faults.append(f"{path}.key: “{line['key']}” does not begin with its stage, {line['stage']}.")
    wants_fields = line["kind"] in (LineKind.READING, LineKind.LOT, LineKind.CHOICE)
    if wants_fields != ("fields" in line):
        faults.append(f"{path}.fields: belong to a reading, a lot or a choice, and to nothing else.")
    if (line["kind"] == LineKind.TIMER) != ("starts" in line):
        faults.append(f"{path}.starts: belongs to a timer, and to nothing else.")
    if line.get("hold") and not line.get("photo"):
        faults.append(f"{path}.photo: a line that holds the work needs a photo.")
    if line.get("hold") and line.get("na", True):
        faults.append(f"{path}.na: a line that holds the work cannot be answered “not here”.")
    if line.get("card") and line["stage"] != Stage.TACK:
        faults.append(f"{path}.card: dry cards belong to the tack stage.")
    return faults + _fields(line, path, plan)


def _fields(line: Mapping[str, Any], path: str, plan: Mapping[str, Any]) -> Faults:
    faults = twice(line.get("fields", ()), "name", f"{path}.fields")
    for n, part in enumerate(line.get("fields", ())):
        here = f"{path}.fields[{n}]"
        if part.get("limits") and part["limits"] not in plan["limits"]:
            faults.append(f"{here}.limits: there are no limits “{part['limits']}”.")
        if (part["unit"] == "choice") != ("choices" in part):
            faults.append(f"{here}.choices: belong to the unit choice, and to nothing else.")
    return faults


def _clocks(plan: Mapping[str, Any]) -> Faults:
    keys = {line["key"] for line in plan["lines"]}
    faults = [
        f"stale[{n}].{name}: there is no line “{rule[name]}”."
        for n, rule in enumerate(plan["stale"])
        for name in ("after", "refreshed_by", "until", "broken_by")
        if rule[name] not in keys
    ]
    flooding = [line for line in plan["lines"] if line.get("starts") == "flooding"]
    if len(flooding) != 1:
        faults.append("lines: exactly one of them starts the flooding.")
    return faults + bands(plan["cure"]) + window(plan["primer"])


def bands(cure: Mapping[str, Any]) -> Faults:
    """Warmest first, and warmer is never slower."""
    given = [(band["from_c100"], band["hours"]) for band in cure["bands"]]
    warm = [from_c100 for from_c100, _ in given]
    hours = [length for _, length in given]
    faults = []
    if warm != sorted(warm, reverse=True) or hours != sorted(hours):
        faults.append("cure.bands: from the warmest to the coldest, each no faster than the one before.")
    if warm[-1] < cure["stops_below_c100"]:
        faults.append("cure.bands: the coldest band lies where the clock stands still.")
    return faults


def window(primer: Mapping[str, Any]) -> Faults:
    if primer["flash_off_most_s"] > primer["flash_off_least_s"]:
        return []
    return ["primer.flash_off_most_s: should be longer than the least."]
