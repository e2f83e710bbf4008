"""Defects: raised where they are seen, put right with proof. An open one holds its panel."""

from dataclasses import replace

from django.db import transaction

from shop.documents.rights import roles_of
from shop.film.models import Roll
from shop.intake.jobs import held, hold
from shop.intake.models import Consent
from shop.people.identity import By, must_be_of
from shop.reasons import Reason, Refused, blocking
from shop.record.actions import told as told_private
from shop.record.actions import write
from shop.work import gates, told
from shop.work.again import latest_stage, renewed
from shop.work.again import said as again_said
from shop.work.agreeing import agreement_text, keep_agreement, must_be_what_was_read, signed_text
from shop.work.cases import DefectFacts, PutRightFacts
from shop.work.checklist import Line
from shop.work.floor import Floor, Piece, StageOnFloor
from shop.work.kinds import Stage
from shop.work.models.outcome import Defect, DefectPhoto
from shop.work.models.proof import Outcome

NOT_NAMED_YET = "not_named_yet"
SEVERITIES = ("minor", "major")


def open_for_wrong(*, piece: Piece, stage: StageOnFloor, line: Line, edges, outcome: Outcome) -> None:
    """A line answered "wrong" is a defect from that moment; what it is may be said with dry hands."""
    by_code = {edge.code: edge for edge in piece.row.edges.all()}
    for edge in edges:
        already = any(
            defect.closed_at is None
            and defect.line == line.key
            and (defect.edge.code if defect.edge else "") == edge
            for defect in piece.defects
        )
        if not already:
            Defect.objects.create(
                fitting=piece.row,
                edge=by_code.get(edge),
                kind=NOT_NAMED_YET,
                found_at=stage.stage,
                line=line.key,
                note=outcome.reason,
                raised_by=outcome.person,
                raised_at=outcome.at,
            )


@transaction.atomic
def raise_defect(
    *,
    job,
    panel: str,
    kind: str,
    found_at: str,
    by: By,
    now,
    edge: str = "",
    x_mil: int | None = None,
    y_mil: int | None = None,
    comes_from: str = "",
    cause: str = "",
    severity: str = "minor",
    note: str = "",
    line: str = "",
    photo=None,
    upload=None,
    happened_at=None,
    device_at=None,
    sure: bool = True,
) -> Defect:
    """Say that something is wrong at a place (`hood.1`), with a photo or the promise of one."""
    must_be_of(by, job.workshop)
    hold(job)
    floor = Floor(job)
    piece = _piece(floor, panel)
    reasons = gates.verb_reasons("raise_defect", told.who(by), roles_of(job.workshop))
    reasons += _unfit(floor, piece, kind, edge, x_mil, y_mil, found_at, comes_from, cause, severity)
    if blocking(reasons):
        raise Refused(reasons)
    said = {
        "x_mil": x_mil,
        "y_mil": y_mil,
        "kind": kind,
        "found_at": found_at,
        "line": line,
        "comes_from": comes_from,
        "cause": cause,
        "severity": severity,
    }
    proof = photo.sha256 if photo else upload.sha256 if upload else ""
    entry = write(
        workshop=job.workshop,
        job=job,
        verb="raise_defect",
        body={"panel": panel, "edge": edge, "note": note, "photo": proof} | said,
        by=by,
        now=now,
        happened_at=happened_at,
        device_at=device_at,
        sure=sure,
    )
    defect = Defect.objects.create(
        fitting=piece.row,
        edge=next((row for row in piece.row.edges.all() if row.code == edge), None),
        note=note[:500],
        **said,
        raised_by=by.person,
        raised_at=entry.happened_at,
    )
    if photo or upload:
        DefectPhoto.objects.create(defect=defect, photo=photo, upload=upload)
    return defect


def _piece(floor: Floor, place: str) -> Piece:
    piece = floor.piece(place)
    if piece is None:
        raise Refused(Reason("superseded", f"{place} is not set out in this job, or was taken off it."))
    return piece


def _unfit(floor, piece, kind, edge, x_mil, y_mil, found_at, comes_from, cause, severity) -> list[Reason]:
    found = []
    known = {
        "kind": (kind, {entry["code"] for entry in floor.plan.get("defects", ())}),
        "cause": (cause, {"", *(entry["code"] for entry in floor.plan.get("causes", ()))}),
        "stage it was found at": (found_at, set(Stage)),
        "stage it comes from": (comes_from, {"", *Stage}),
        "severity": (severity, set(SEVERITIES)),
    }
    for name, (given, allowed) in known.items():
        if given not in allowed:
            found.append(
                Reason("answer_unfit", f"“{given}” is no {name} this plan knows.", where=piece.place)
            )
    if edge and edge not in {row.code for row in piece.row.edges.all()}:
        found.append(Reason("not_asked", f"{piece.name} has no edge “{edge}”.", where=piece.place))
    for at in (x_mil, y_mil):
        if at is not None and not 0 <= at <= 1000:
            found.append(Reason("answer_unfit", "The place lies outside the panel.", where=piece.place))
    return found


def _as_closed(floor: Floor, piece: Piece, defect: Defect, kind: str, agreed: bool) -> DefectFacts:
    """The defect as it will stand: named now, with the agreement that comes with this act."""
    facts = next(d for d in told.defect_facts(floor, piece) if d.id == defect.pk)
    named = kind or defect.kind
    return replace(facts, paint_cut=named == told.PAINT_CUT, agreed=facts.agreed or agreed)


def _settling(piece: Piece, closed: DefectFacts, way: dict, *, disposition, by, proof: int) -> PutRightFacts:
    return PutRightFacts(
        by=told.who(by),
        place=piece.place,
        name=piece.name,
        defect=closed,
        disposition=disposition,
        known=bool(way),
        needs_agreement=bool(way.get("agreement")),
        needs_proof=bool(way.get("proof")),
        proof=proof,
    )


def _close(defect: Defect, *, kind: str, cause: str, **ended) -> None:
    """`kind` and `cause` where they are named only now."""
    named = {"kind": kind or defect.kind, "cause": cause or defect.cause}
    for name, value in (named | ended).items():
        setattr(defect, name, value)
    defect.save()


@transaction.atomic
def put_right(
    *,
    job,
    defect: Defect,
    disposition: str,
    by: By,
    now,
    kind: str = "",
    cause: str = "",
    note: str = "",
    photos: list | None = None,
    agreed: Consent | None = None,
    strokes=(),
    text_seen: str = "",
    from_stage: str = "",
    roll: Roll | None = None,
) -> Defect:
    """Close a defect in a stated way, with proof after where the plan wants it. Photos are Photo rows.

    The customer agrees in the same act by `strokes`, a signature under the words of `agreement_text`; `text_seen`
    is what was read, and refused when it is named otherwise by now.

    A way that asks for new film makes a new fitting, from `from_stage` on and of `roll`; left out, it begins
    where the edges are wiped, on the same roll.
    """
    must_be_of(by, job.workshop)
    hold(job)
    floor = Floor(job)
    piece = next((p for p in floor.pieces if p.row.pk == defect.fitting_id), None)
    if piece is None:
        raise Refused(Reason("superseded", "That film is no longer on the car."))
    photos, drawn = photos or [], signed_text(strokes)
    text = agreement_text(floor, piece, defect, kind or defect.kind) if drawn else ""
    must_be_what_was_read(text, text_seen if drawn else "")
    proof = [*photos, *(shown.photo for shown in defect.photos.filter(after=True, photo__isnull=False))]
    way = next((w for w in floor.plan.get("dispositions", ()) if w["code"] == disposition), {})
    closed = _as_closed(floor, piece, defect, kind, agreed is not None or bool(drawn))
    facts = _settling(piece, closed, way, disposition=disposition, by=by, proof=len(proof))
    named = (kind or defect.kind, "", None, None, defect.found_at, "", cause, defect.severity)
    reasons = [*gates.put_right_reasons(facts, roles_of(job.workshop)), *_unfit(floor, piece, *named)]
    if blocking(reasons):
        raise Refused(reasons)
    if drawn:
        agreed = keep_agreement(job, text, drawn, now)
    ended = {"closed_by": by.person, "closed_at": now, "agreed": agreed}
    _close(defect, kind=kind, cause=cause, disposition=disposition, closing_note=note[:500], **ended)
    again = None
    if way.get("new_fitting"):
        from_stage = from_stage or latest_stage(piece)
        again = renewed(
            job=held(job), panel=piece.place, from_stage=from_stage, roll=roll, by=by, now=now, closing=defect
        )
    write(
        workshop=job.workshop,
        job=job,
        verb="put_right",
        body={
            "defect": defect.pk,
            "panel": piece.place,
            "disposition": disposition,
            "kind": defect.kind,
            "cause": cause,
            "note": note,
            "photos": [photo.sha256 for photo in proof],
            "agreed": told_private(agreed.strokes) if agreed else None,
            "agreed_text": agreed.text if agreed else "",
            "again": again_said(again) if again else None,
        },
        by=by,
        now=now,
    )
    DefectPhoto.objects.bulk_create(DefectPhoto(defect=defect, photo=photo, after=True) for photo in photos)
    return defect
