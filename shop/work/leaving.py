"""Waivers, and the car going back to its customer."""

from datetime import date

from django.db import transaction

from shop.documents.rights import roles_of
from shop.intake.devices import tried
from shop.intake.jobs import hold
from shop.intake.models import Consent
from shop.intake.strokes import read_strokes, strokes_text
from shop.people.identity import By, must_be_of, must_be_proven
from shop.reasons import Reason, Refused, blocking
from shop.record.actions import keep_private, write
from shop.record.actions import told as told_private
from shop.work import conditions, gates, told
from shop.work.cases import HandOverFacts, ReleaseFacts
from shop.work.floor import Floor
from shop.work.kinds import Meaning
from shop.work.models.outcome import HandOver, Release, Waiver


@transaction.atomic
def waive(*, job, code: str, why: str, by: By, now, panel: str = "") -> Waiver:
    """Let one waivable reason pass, for the job or for one piece, with the reason why."""
    must_be_proven(by)
    must_be_of(by, job.workshop)
    hold(job)
    floor = Floor(job)
    reasons = gates.waive_reasons(code, told.who(by), why, roles_of(job.workshop))
    piece = floor.piece(panel) if panel else None
    if panel and piece is None:
        reasons.append(Reason("superseded", f"{panel} is not set out in this job."))
    if blocking(reasons):
        raise Refused(reasons)
    body = {"code": code, "why": why, "panel": panel}
    entry = write(workshop=job.workshop, job=job, verb="waive", body=body, by=by, now=now)
    return Waiver.objects.create(
        entry=entry,
        job=job,
        fitting=piece.row if piece else None,
        code=code,
        why=why[:300],
        person=by.person,
        at=now,
    )


def in_the_way(floor: Floor, now) -> list[Reason]:
    """Everything between this car and its release, whoever acts next."""
    facts = ReleaseFacts(
        fittings=tuple(
            told.fitting_facts(
                floor, piece, tuple(conditions.for_signing(floor, piece, Meaning.RELEASED, now))
            )
            for piece in floor.pieces
        ),
        now=now,
        zone=told.zone(floor),
        self_release=floor.job.workshop.self_release,
    )
    return gates.release_reasons(facts, roles_of(floor.job.workshop))


def hand_over_reasons(*, job, by: By, on: date, signed: bool, now) -> list[Reason]:
    floor = Floor(job)
    release = Release.objects.filter(job=job).first()
    earlier = HandOver.objects.filter(job=job).first()
    local = told.zone(floor)
    facts = HandOverFacts(
        by=told.who(by),
        on=on,
        today=now.astimezone(local).date(),
        released_on=release.at.astimezone(local).date() if release else None,
        customer_signed=signed,
        handed_over_on=earlier.on if earlier else None,
        defects=tuple(d for piece in floor.pieces for d in told.defect_facts(floor, piece)),
    )
    reasons = gates.hand_over_reasons(facts, roles_of(job.workshop))
    if release and not all(piece.signoff(Meaning.RELEASED) for piece in floor.pieces):
        reasons.append(Reason("not_released", "A panel was set out or opened again after the release."))
    return reasons + _untried(job)


def _untried(job) -> list[Reason]:
    """What shone, looked or sprayed when the car came is tried again before it goes."""
    waiting = [one.name.lower() for one in tried(job) if one.waits]
    if not waiting:
        return []
    text = f"Tried when the car came, and not yet before it goes: {', '.join(waiting)}."
    return [Reason("not_tried_after", text, where=f"/cars/{job.pk}/intake/tried/after/")]


@transaction.atomic
def hand_over(
    *, job, on: date, strokes: list, text: str, by: By, now, odometer_km: int | None = None
) -> HandOver:
    """Give the car back: the day, the customer's hand under the words shown."""
    must_be_proven(by)
    must_be_of(by, job.workshop)
    hold(job)
    drawn, unsigned = _drawn(strokes)
    reasons = hand_over_reasons(job=job, by=by, on=on, signed=True, now=now) + unsigned
    if odometer_km is not None and job.odometer_km and odometer_km < job.odometer_km:
        reasons.append(
            Reason("answer_unfit", f"The car came in with {job.odometer_km} km; it cannot leave with less.")
        )
    if blocking(reasons):
        raise Refused(reasons)
    hand = keep_private(job.workshop, strokes_text(drawn))
    consent = Consent.objects.create(
        job=job, kind=Consent.Kind.HAND_OVER, text=text, strokes=hand, given_at=now
    )
    body = {
        "on": on.isoformat(),
        "odometer_km": odometer_km,
        "text": text,
        "strokes": told_private(hand),
    }
    entry = write(workshop=job.workshop, job=job, verb="hand_over", body=body, by=by, now=now)
    return HandOver.objects.create(
        entry=entry, job=job, person=by.person, consent=consent, on=on, odometer_km=odometer_km, at=now
    )


def _drawn(strokes) -> tuple[list, list[Reason]]:
    try:
        return read_strokes(strokes), []
    except Refused as refusal:
        return [], refusal.reasons
