"""Photos as proof of lines at places: promised by a tablet, or kept at once. And plain notes."""

from django.db import transaction

from shop.documents.rights import roles_of
from shop.intake.jobs import hold
from shop.people.identity import By, must_be_of
from shop.photos.models import Photo, Upload
from shop.reasons import Reason, Refused, blocking
from shop.record.actions import write
from shop.work import conditions, gates, told
from shop.work.again import own_round
from shop.work.answering import signed_meanwhile, targets_of
from shop.work.cases import AnswerFacts
from shop.work.floor import Floor, floor_of
from shop.work.kinds import Answer
from shop.work.models.outcome import DefectPhoto
from shop.work.models.proof import OutcomePhoto

# A photo is judged like a tick of its line, but these belong to the tick alone.
NOT_FOR_PHOTOS = frozenset({"answer_unfit", "reason_missing", "photo_missing", "cure_running"})


@transaction.atomic
def keep_photo(
    *,
    job,
    places: list[dict],
    by: By,
    now,
    photo: Photo | None = None,
    upload: Upload | None = None,
    happened_at=None,
    device_at=None,
    sure: bool = True,
) -> list[OutcomePhoto]:
    """Keep one photo as proof of each place `{"line", "panel", "edge"}`; with `upload` its bytes may follow.

    A place may also be `{"defect": id, "after": true}`: what was found, or how it looks put right.
    """
    happened_at = happened_at or now
    must_be_of(by, job.workshop)
    hold(job)
    lines = [(str(place.get("line") or ""), str(place.get("panel") or "")) for place in places]
    floor = Floor(job) if any(place.get("defect") for place in places) else floor_of(job, lines)
    shown = [_defect_shown(floor, place) for place in places if place.get("defect")]
    spots = [spot for place in places if not place.get("defect") for spot in _spots(floor, place)]
    if not spots and not shown:
        raise Refused(Reason("not_asked", "Say which edge or line the photo shows."))
    reasons = [reason for spot in spots for reason in _reasons(floor, spot, by, happened_at)]
    sha256 = photo.sha256 if photo else upload.sha256
    reasons += gates.verb_reasons("keep_photo", told.who(by), roles_of(job.workshop))
    reasons += reused(job, sha256, spots) if spots else []
    late = signed_meanwhile([stage for _, stage, _, _ in spots], happened_at, now)
    stops = [reason for reason in blocking(reasons) if not (late and reason.code == "already_signed")]
    if stops:
        raise Refused(list(dict.fromkeys(stops)))
    entry = write(
        workshop=job.workshop,
        job=job,
        verb="keep_photo",
        body={
            "sha256": sha256,
            "places": [[piece.place, line.key, edge] for piece, _, line, edge in spots],
            "defects": [[defect.pk, after] for defect, after in shown],
            "arrived": photo is not None,
            "late": late,
        },
        by=by,
        now=now,
        happened_at=happened_at,
        device_at=device_at,
        sure=sure,
    )
    DefectPhoto.objects.bulk_create(
        DefectPhoto(defect=defect, photo=photo, upload=upload, after=after) for defect, after in shown
    )
    if not late:
        for piece, stage, _, _ in spots:
            if stage.carried:
                own_round(piece, stage, now)
    shared = {"entry": entry, "person": by.person, "photo": photo, "upload": upload, "at": happened_at}
    return OutcomePhoto.objects.bulk_create(_proof(spot, late=late, **shared) for spot in spots)


def _proof(spot, **shared) -> OutcomePhoto:
    piece, stage, line, edge = spot
    row = next((row for row in piece.row.edges.all() if row.code == edge), None)
    return OutcomePhoto(checklist=stage.checklist, edge=row, key=line.key, **shared)


def promise_photo(*, job, upload: Upload, places: list[dict], by: By, now, **when) -> list[OutcomePhoto]:
    return keep_photo(job=job, places=places, by=by, now=now, upload=upload, **when)


@transaction.atomic
def photo_arrived(*, upload: Upload, photo: Photo | None, now, refused: str = "") -> None:
    """The bytes are in: the promise becomes proof, or is set aside with the sentence that says why."""
    hold(upload.job)
    Upload.objects.filter(pk=upload.pk).update(photo=photo, refused=refused)
    waiting = list(OutcomePhoto.objects.filter(upload=upload).select_related("edge", "checklist__fitting"))
    if photo is None:
        OutcomePhoto.objects.filter(upload=upload).update(set_aside=refused[:200])
    else:
        OutcomePhoto.objects.filter(upload=upload).update(photo=photo)
        DefectPhoto.objects.filter(upload=upload).update(photo=photo)
    if upload.job_id:
        write(
            workshop=upload.workshop,
            job=upload.job,
            verb="photo_arrived",
            body={"sha256": upload.sha256, "places": len(waiting), "refused": refused},
            by=None,
            now=now,
        )


@transaction.atomic
def note(*, job, panels: list[str], text: str, by: By, now, happened_at=None, device_at=None, sure=True):
    """A plain remark in the job's book. It changes nothing and is shown where it was made."""
    must_be_of(by, job.workshop)
    text = text.strip()
    if not text:
        raise Refused(Reason("answer_unfit", "A note says something."))
    if len(text) > 1000:
        raise Refused(Reason("answer_unfit", "A note has at most 1000 characters."))
    reasons = gates.verb_reasons("answer", told.who(by), roles_of(job.workshop))
    if blocking(reasons):
        raise Refused(reasons)
    return write(
        workshop=job.workshop,
        job=job,
        verb="note",
        body={"panels": list(panels), "text": text},
        by=by,
        now=now,
        happened_at=happened_at,
        device_at=device_at,
        sure=sure,
    )


def reused(job, sha256: str, spots) -> list[Reason]:
    """One act may prove several places with one photo; the same bytes for another place later may not."""
    now_proven = {(piece.row.pk, line.key, edge) for piece, _, line, edge in spots}
    earlier = OutcomePhoto.objects.filter(
        photo__sha256=sha256, photo__workshop=job.workshop, set_aside=""
    ).select_related("checklist__fitting__panel", "edge", "checklist__fitting__job")[:200]
    for proof in earlier:
        place = (proof.checklist.fitting_id, proof.key, proof.edge.code if proof.edge else "")
        if place not in now_proven:
            fitting = proof.checklist.fitting
            text = (
                f"This very photo already proves {fitting.place} in job {fitting.job.number}. Take a new one."
            )
            return [Reason("photo_reused", text, where=spots[0][0].place)]
    return []


def _defect_shown(floor: Floor, place: dict):
    for piece in floor.pieces:
        for defect in piece.defects:
            if str(defect.pk) == str(place["defect"]):
                if defect.closed_at:
                    raise Refused(Reason("superseded", f"{piece.name}: that was settled already."))
                return defect, bool(place.get("after"))
    raise Refused(Reason("superseded", "There is no such defect on this car."))


def _spots(floor: Floor, place: dict):
    key, panel, edge = (str(place.get(name) or "") for name in ("line", "panel", "edge"))
    for piece, stage, line, spots in targets_of(floor, key, [panel] if panel else [], [edge] if edge else []):
        for spot in spots:
            yield piece, stage, line, spot


def _reasons(floor: Floor, spot, by: By, at) -> list[Reason]:
    piece, _stage, line, edge = spot
    facts = AnswerFacts(
        fitting=told.fitting_facts(
            floor, piece, tuple(conditions.for_answer(floor, piece, line, Answer.NA, at))
        ),
        line=line.key,
        answer=Answer.DONE,
        by=told.who(by),
        now=at,
        zone=told.zone(floor),
        edges=(edge,) if edge else (),
        self_release=floor.job.workshop.self_release,
    )
    found = gates.answer_reasons(facts, roles_of(floor.job.workshop))
    return [reason for reason in found if reason.code not in NOT_FOR_PHOTOS]
