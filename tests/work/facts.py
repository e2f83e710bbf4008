"""Facts for the gate, made from the built-in plan: a hood that is finished, and everything taken away from it.

Ines and Tom fit, Marek inspects, Dora sits at the desk, Petra owns the shop.
"""

import tomllib
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

from shop.work.cases import (
    AnswerFacts,
    DefectFacts,
    FittingFacts,
    Given,
    LotFacts,
    Signature,
    SignFacts,
    StageFacts,
    Who,
)
from shop.work.checklist import EdgeSpec, PieceSpec, all_lines
from shop.work.kinds import SATISFIED_BY, STAGES_OF, LineKind, Meaning, Stage

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
PLAN = tomllib.loads((FIXTURES / "plans/builtin.toml").read_text(encoding="utf-8"))
ROLES = tomllib.loads((FIXTURES / "roles.toml").read_text(encoding="utf-8"))
ZONE = ZoneInfo("Europe/Madrid")
NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
TODAY = date(2026, 3, 2)

INES = Who(1, "Ines", frozenset({"installer"}))
TOM = Who(2, "Tom", frozenset({"installer"}))
MAREK = Who(3, "Marek", frozenset({"installer", "inspector"}))
DORA = Who(4, "Dora", frozenset({"desk"}))
PETRA = Who(5, "Petra", frozenset({"owner"}))
ALONE = Who(1, "Ines", frozenset({"installer", "inspector", "desk", "owner"}))

FILM = LotFacts("film", "L-204", "R-17", expires_on=date(2027, 1, 31))
OTHER = {
    "primer": LotFacts("primer", "P-3", expires_on=date(2026, 9, 1)),
    "slip": LotFacts("slip", "S-1"),
    "tack": LotFacts("tack", "T-1"),
}

LIFT = DefectFacts(7, "Lifted edge", edge="front")
CUT = DefectFacts(8, "Cut in paint", open=False, paint_cut=True)

HOOD = PieceSpec(
    panel="hood",
    piece=1,
    panel_kind="hood",
    material="metal",
    features=frozenset({"corners", "hardware", "large", "opens"}),
    cut="bulk",
    cover="full",
    edges=(
        EdgeSpec("front", "edge", "wrapped", 8),
        EdgeSpec("front-left", "corner", "wrapped", primer=True),
        EdgeSpec("cowl", "edge", "tucked"),
    ),
    people=2,
)


@dataclass(frozen=True)
class Part:
    """Something that can be missing: an answer, a photo or a signature at a stage."""

    what: str
    stage: str
    key: str
    edge: str = ""


@cache
def lines_of(piece):
    return all_lines(PLAN, piece)


@cache
def parts(piece=HOOD):
    """Everything a finished piece has, in working order."""
    found = []
    for stage, lines in lines_of(piece).items():
        for line in lines:
            if line.required:
                found += [Part("given", stage, line.key, place) for place in line.places()]
            if line.photo:
                found += [Part("photo", stage, line.key, place) for place in line.places()]
    for meaning, stages in STAGES_OF.items():
        found += [Part("signature", stage, meaning) for stage in stages]
    return found


def fitting(have=None, piece=HOOD, **rest):
    """A fitting with exactly these parts; all of them when nothing is said."""
    have = set(parts(piece) if have is None else have)
    lines = lines_of(piece)
    given = {
        "place": f"{piece.panel}.{piece.piece}",
        "name": "Hood",
        "stages": {stage: _stage(stage, lines[stage], have) for stage in Stage},
        "installers": {INES.id: INES.name, TOM.id: TOM.name},
        "film": FILM,
        "people_needed": 2,
    }
    return FittingFacts(**{**given, **rest})


def without(*missing, piece=HOOD, **rest):
    """A finished fitting less these keys (`degrease.wipe@front`), photos (`photo:…`), signings (`ready`)."""
    gone = {part for part in parts(piece) if _named(part) & set(missing)}
    named = {name for part in gone for name in _named(part)}
    assert set(missing) <= named, f"not a part of it: {set(missing) - named}"
    return fitting([part for part in parts(piece) if part not in gone], piece, **rest)


def until(meaning, piece=HOOD, **rest):
    """All work and signings that come before this one are done, and the work it signs; it is not signed."""
    stages = list(Stage)
    last = stages.index(STAGES_OF[meaning][-1])
    order = [Meaning.READY, Meaning.HIDDEN, Meaning.LAID, Meaning.RELEASED]
    before = order[: order.index(meaning)]
    have = [
        part
        for part in parts(piece)
        if (part.key in before if part.what == "signature" else stages.index(Stage(part.stage)) <= last)
    ]
    return fitting(have, piece, **rest)


def _named(part):
    if part.what == "signature":
        return {part.key}
    place = f"{part.key}@{part.edge}" if part.edge else part.key
    return {f"photo:{place}"} if part.what == "photo" else {place, part.key}


def _stage(stage, lines, have):
    given, photos, keys = [], set(), {key for line in lines for key in line.place_keys()}
    for line in lines:
        for place in line.places():
            if Part("given", stage, line.key, place) in have:
                given.append(answered(line, place))
            if Part("photo", stage, line.key, place) in have:
                photos.add(f"{line.key}@{place}" if place else line.key)
    signed = [part.key for part in have if part.what == "signature" and part.stage == stage]
    return StageFacts(
        stage=stage,
        lines=tuple(lines),
        given=tuple(given),
        photos=frozenset(photos),
        signatures=tuple(signature(meaning, keys) for meaning in sorted(signed)),
    )


def answered(line, place="", by=None, **rest):
    """The answer that settles a line, by whoever may give it."""
    by = by or (MAREK if line.second else INES)
    lots = {
        "tack.lot": (FILM,),
        "primer.lot": (OTHER["primer"],),
        "tack.mix": (OTHER["slip"], OTHER["tack"]),
    }.get(line.key, ())
    (answer,) = SATISFIED_BY[LineKind(line.kind)]
    at = NOW + timedelta(days=1, hours=2) if line.second else NOW
    given = {"line": line.key, "answer": answer, "person": by.id, "person_name": by.name, "at": at}
    return Given(**{**given, "edge": place, "lots": lots, **rest})


def signature(meaning, keys):
    by = MAREK if meaning in (Meaning.HIDDEN, Meaning.RELEASED) else INES
    return Signature(meaning, by.id, by.name, NOW + timedelta(hours=1), frozenset(keys))


def change(facts, stage, **rest):
    """The same fitting with another stage."""
    return replace(facts, stages={**facts.stages, stage: replace(facts.stages[stage], **rest)})


def put(facts, stage, line, edge="", **rest):
    """The same fitting with one answer given otherwise."""
    old = facts.stages[stage]
    given = tuple(
        replace(one, **rest) if one.line == line and edge in ("", one.edge) else one for one in old.given
    )
    return change(facts, stage, given=given)


def answer(facts, line, edges=(), answer="done", by=INES, **rest):
    given = {"now": NOW + timedelta(hours=2), "zone": ZONE, "edges": tuple(edges)}
    return AnswerFacts(facts, line, answer, by, **{**given, **rest})


def sign(meaning, *fittings, by=None, **rest):
    by = by or (MAREK if meaning in ("hidden", "released") else INES)
    given = {"now": NOW + timedelta(days=1, hours=3), "zone": ZONE}
    return SignFacts(meaning, tuple(fittings), by, **{**given, **rest})


def codes(reasons):
    return [reason.code for reason in reasons]


def dry(**rest):
    """Ready signed, the dry card answered, nothing wet yet."""
    later = [
        line.key for stage in ("seal", "steam", "cure") for line in lines_of(HOOD)[stage] if line.required
    ]
    after = [line.key for line in lines_of(HOOD)["tack"] if line.card == "after"]
    return without("tack.flooding", "hidden", "laid", "released", *after, *later, **rest)


def wider(facts, stage, edge):
    """The same fitting after an edge was added at set-out."""
    lines = lines_of(replace(HOOD, edges=(*HOOD.edges, edge)))
    return change(facts, stage, lines=tuple(lines[stage]))
