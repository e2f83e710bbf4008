"""From rows to the gate's plain facts."""

from zoneinfo import ZoneInfo

from shop.people.identity import By
from shop.people.models import Person
from shop.reasons import Reason
from shop.templatetags.words import day, in_language
from shop.work.cases import DefectFacts, FittingFacts, Given, LotFacts, Signature, StageFacts, Who
from shop.work.checklist import line_keys
from shop.work.floor import Floor, Piece, StageOnFloor, people_needed

PAINT_CUT = "cut_in_paint"


def who(by: By | Person) -> Who:
    person = by if isinstance(by, Person) else by.person
    return Who(person.pk, person.name, person.role_set)


def zone(floor: Floor) -> ZoneInfo:
    return ZoneInfo(floor.job.workshop.zone)


def fitting_facts(floor: Floor, piece: Piece, found: tuple[Reason, ...] = ()) -> FittingFacts:
    return FittingFacts(
        place=piece.place,
        name=piece.name,
        stages={code: _stage_facts(floor, stage) for code, stage in piece.stages.items()},
        installers={named.person_id: named.person.name for named in piece.row.people.all()},
        film=_film(piece),
        paint_concern=paint_concern(piece),
        people_needed=people_needed(piece.spec),
        defects=defect_facts(floor, piece),
        edge_names=piece.edge_names,
        ended=piece.row.ended_at is not None,
        hands=piece.hands,
        found=found,
    )


def paint_concern(piece: Piece) -> str:
    if not piece.paint or piece.paint_accepted:
        return ""
    said = []
    for note in piece.paint:
        when = f" of {day(note.painted_on)}" if note.painted_on else ""
        said.append(f"{note.get_kind_display().lower()}{when}")
    return ", ".join(said)


def defect_facts(floor: Floor, piece: Piece) -> tuple[DefectFacts, ...]:
    titles = {entry["code"]: in_language(entry["title"]) for entry in floor.plan.get("defects", ())}
    return tuple(
        DefectFacts(
            id=defect.pk,
            title=titles.get(defect.kind, "Something is wrong"),
            edge=defect.edge.code if defect.edge else "",
            open=defect.closed_at is None,
            paint_cut=defect.kind == PAINT_CUT,
            agreed=defect.agreed_id is not None,
        )
        for defect in piece.defects
    )


def lots_named(floor: Floor, value: dict | None) -> tuple[LotFacts, ...]:
    """The lots an answer names, looked up on the shelf: `lot` and `roll` are film, `primer_lot` primer, ..."""
    value = value or {}
    named = []
    for name, code in value.items():
        if not isinstance(code, str) or not (name == "lot" or name.endswith("_lot")):
            continue
        kind = "film" if name == "lot" else name.removesuffix("_lot")
        lot = floor.lots.get((kind, code))
        roll_code = value.get("roll", "") if kind == "film" else ""
        roll = floor.rolls.get((code, roll_code)) if roll_code else None
        named.append(
            LotFacts(
                kind=kind,
                code=code,
                roll=str(roll_code),
                known=lot is not None and (not roll_code or roll is not None),
                quarantined=bool(lot and lot.quarantined_at),
                expires_on=(roll.expires_on if roll else lot.expires_on if lot else None),
            )
        )
    return tuple(named)


def _film(piece: Piece) -> LotFacts | None:
    roll = piece.row.roll
    if roll is None:
        return None
    return LotFacts(
        kind="film",
        code=roll.lot.code,
        roll=roll.code,
        quarantined=roll.lot.quarantined_at is not None,
        expires_on=roll.expires_on,
    )


def _stage_facts(floor: Floor, stage: StageOnFloor) -> StageFacts:
    return StageFacts(
        stage=stage.stage,
        lines=tuple(stage.lines),
        given=tuple(
            Given(
                line=key,
                answer=on.outcome.answer,
                person=on.outcome.person_id,
                person_name=on.outcome.person.name,
                at=on.outcome.at,
                edge=edge,
                scope=floor.scopes.get(key, ""),
                lots=lots_named(floor, on.outcome.value),
            )
            for (key, edge), on in stage.answers.items()
        ),
        photos=frozenset(
            f"{key}@{edge}" if edge else key for key, edge in stage.photos if stage.has_photo(key, edge)
        ),
        signatures=tuple(
            Signature(
                meaning=meaning,
                person=signoff.signing.person_id,
                person_name=signoff.signing.person.name,
                at=signoff.signing.at,
                keys=frozenset(signed_keys(signoff)),
            )
            for meaning, signoff in stage.signoffs.items()
        ),
    )


def signed_keys(signoff) -> list[str]:
    """The line keys with places that were frozen for this checklist when it was signed."""
    return signoff.signing.lines.get(str(signoff.checklist_id), {}).get("keys", [])


def current_keys(stage: StageOnFloor) -> list[str]:
    return line_keys(stage.lines)
