"""What a certificate states about the film: panel by panel, who laid and who checked it, photos, signatures.

Everything is taken as it is at this moment and said in words, so that a later change of a name, a panel's
title or a film's colour changes nothing on a paper already given.
"""

from collections import defaultdict
from datetime import datetime
from zoneinfo import ZoneInfo

from shop.intake.names import panel_name
from shop.templatetags.words import in_language
from shop.work import progress, told
from shop.work.checklist import Line
from shop.work.floor import Floor, Piece, StageOnFloor
from shop.work.kinds import Cover, Cut, Finish, Material, Meaning, Stage, title


def panels(floor: Floor, language: str) -> list[dict]:
    """Every filmed panel with its pieces, in the order of the body."""
    by_code: dict[str, list[Piece]] = defaultdict(list)
    for piece in floor.pieces:
        by_code[piece.spec.panel].append(piece)
    return [
        {
            "code": code,
            "label": panel_name(floor.body, code, language),
            "material": _word(Material(pieces[0].spec.material), language),
            "pieces": [_piece(floor, piece, language) for piece in pieces],
        }
        for code, pieces in by_code.items()
    ]


def _piece(floor: Floor, piece: Piece, language: str) -> dict:
    row, roll = piece.row, piece.row.roll
    return {
        "place": piece.place,
        "piece": row.piece,
        "label": piece.name,
        "fitting": row.pk,
        "film": _film(row, language),
        "lot": roll.lot.code if roll else "",
        "roll": roll.code if roll else "",
        "cut": _word(Cut(row.cut), language),
        "cover": _word(Cover(row.cover), language),
        "edges": [_edge(piece, edge, language) for edge in row.edges.all()],
        "fitted_by": sorted(named.person.name for named in row.people.all()),
        **_checked(floor, piece),
    }


def _film(row, language: str) -> dict:
    film = row.roll.lot.material if row.roll else None
    return {
        "name": film.name if film else "",
        "colour": film.colour if film else "",
        "finish": film.finish if film else "",
        "thickness_um10": (row.sheet.body.get("thickness") or {}).get("typical_um10"),
        "sheet": {"name": row.sheet.name, "version": row.sheet.version, "digest": row.sheet.digest},
    }


def _edge(piece: Piece, edge, language: str) -> dict:
    return {
        "code": edge.code,
        "label": piece.edge_names.get(edge.code) or edge.code.replace("-", " ").capitalize(),
        "kind": edge.kind,
        "finish": _word(Finish(edge.finish), language),
        "return_mm": edge.return_mm,
    }


def _checked(floor: Floor, piece: Piece) -> dict:
    """Who signed it as released, and whether anybody who checked it had a hand in the work."""
    facts = told.fitting_facts(floor, piece)
    signature = progress.signature_on(progress.stage_of(facts, Stage.CURE), Meaning.RELEASED)
    checkers = {signature.person} if signature else set()
    for stage in facts.stages.values():
        seconds = {line.key for line in stage.lines if line.second}
        checkers |= {given.person for given in stage.given if given.line in seconds}
    return {
        "checked_by": signature.person_name if signature else "",
        "checked_by_installer": any(progress.tie_to(facts, person) for person in checkers),
    }


def signings(floor: Floor, language: str) -> list[dict]:
    """Every signing that still holds, oldest first: who, when, what it meant, and which stages of which panels."""
    zone = told.zone(floor)
    titles = {stage["key"]: in_language(stage["title"], language) for stage in floor.plan["stages"]}
    meanings = {s["meaning"]: in_language(s["title"], language) for s in floor.plan["signings"]}
    found: dict[int, dict] = {}
    for piece in floor.pieces:
        for stage in piece.stages.values():
            for signoff in stage.signoffs.values():
                signing = signoff.signing
                told_of = found.setdefault(
                    signing.pk,
                    {
                        "name": signing.person.name,
                        "at": local(signing.at, zone),
                        "meaning": meanings[signing.meaning],
                        "sentence": signing.sentence,
                        "signed": [],
                    },
                )
                _sign(told_of["signed"], titles[stage.stage], piece.name)
    return sorted(found.values(), key=lambda signed: signed["at"])


def _sign(signed: list[dict], stage: str, piece: str) -> None:
    for row in signed:
        if row["stage"] == stage:
            row["pieces"].append(piece)
            return
    signed.append({"stage": stage, "pieces": [piece]})


def photos(floor: Floor, language: str) -> list[dict]:
    """The photos of edges, each once with every place it proves: hidden ones first, then the edge round."""
    zone = told.zone(floor)
    found: dict[str, dict] = {}
    for code in (Stage.SEAL, Stage.CURE):
        for piece in floor.pieces:
            stage = piece.stages[code]
            for line, place, proof in _proofs(stage):
                kept = found.setdefault(
                    proof.photo.sha256,
                    {
                        "sha256": proof.photo.sha256,
                        "stage": str(code),
                        "at": local(proof.at, zone),
                        "name": proof.person.name,
                        "width": proof.photo.w,
                        "height": proof.photo.h,
                        "places": [],
                    },
                )
                _once(kept["places"], _place(piece, line, place, language))
    return list(found.values())


def _proofs(stage: StageOnFloor):
    for (key, place), proofs in stage.photos.items():
        line = stage.line(key)
        for proof in proofs:
            if line and proof.photo_id and not proof.set_aside:
                yield line, place, proof


def _place(piece: Piece, line: Line, place: str, language: str) -> dict:
    if not place:
        label = f"{piece.name}: {in_language(line.text, language)}"
        return {"place": piece.place, "edge": "", "label": label}
    edge = piece.edge_names.get(place) or place.replace("-", " ")
    return {"place": piece.place, "edge": place, "label": f"{piece.name}: {edge[:1].lower()}{edge[1:]}"}


def known(floor: Floor, language: str) -> list[dict]:
    """What the customer accepted in writing: film on fresh or suspect paint, a fault that may stay."""
    zone = told.zone(floor)
    titles = {kind["code"]: in_language(kind["title"], language) for kind in floor.plan.get("defects", ())}
    said = []
    for piece in floor.pieces:
        for note in piece.paint:
            text = f"{piece.name}: {note.get_kind_display().lower()}, accepted by the customer in writing"
            _once(said, {"place": piece.place, "text": text})
        for defect in piece.defects:
            if defect.agreed_id:
                day = local(defect.closed_at or defect.raised_at, zone)[:10]
                what = titles.get(defect.kind, "Something is wrong").lower()
                text = f"{piece.name}: {what}, stays as it is by the customer's agreement of {day}"
                said.append({"place": piece.place, "text": text})
    return said


def local(moment: datetime, zone: ZoneInfo) -> str:
    """The moment on the workshop's clock, to the second, with its offset."""
    return moment.astimezone(zone).replace(microsecond=0).isoformat()


def _word(word, language: str) -> str:
    return in_language(title(word), language).lower()


def _once(rows: list, row) -> None:
    if row not in rows:
        rows.append(row)
