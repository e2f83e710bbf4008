"""What was accepted is put right in a job of its own; the film laid there takes the place of the old one."""

from django.db import transaction

from shop.claims.judging import running_repair
from shop.claims.models import Claim, Decision
from shop.claims.reporting import held, note_on
from shop.claims.supplier import must_not_wait
from shop.documents.rights import must_be_allowed
from shop.film.models import Roll
from shop.intake.jobs import held as held_job
from shop.intake.models import Job
from shop.people.identity import By
from shop.reasons import Reason, Refused
from shop.work.again import film_again
from shop.work.models.fitting import Fitting


@transaction.atomic
def link_repair(
    *, claim: Claim, job: Job, from_stage: str = "wash", roll: Roll | None = None, by: By, now
) -> Claim:
    """Tie the claim to the job in which it is put right, and set the film there out to be laid again.

    The job is one of the same car that is not handed over. `from_stage`: "wash" for new film, "seal" where only
    its edges are worked again. Film already laid again in that job, for another claim, is not laid twice; where
    no film is on the place any more, the job's own set-out says what is laid.
    """
    must_be_allowed(by, "link_repair", workshop=claim.workshop)
    claim = held(claim)
    _may_be_repaired(claim, job)
    must_not_wait(claim)
    job = held_job(job)
    if hasattr(job, "release"):
        raise Refused(Reason("job_closed", f"Job {job.number} is released already.", where="#job"))
    film = _film_now(claim)
    if film and film.job_id != job.pk:
        film = film_again(job=job, panel=film.place, from_stage=from_stage, roll=roll, by=by, now=now)
    body = {
        "claim": claim.number,
        "job": job.pk,
        "number": job.number,
        "fitting": film.pk if film else None,
        "from_stage": film.from_stage if film else "",
    }
    note_on(claim, "link_repair", body, by=by, now=now)
    Claim.objects.filter(pk=claim.pk).update(repair_job=job)
    return Claim.objects.for_page().get(pk=claim.pk)


def _may_be_repaired(claim: Claim, job: Job) -> None:
    if job.workshop_id != claim.workshop_id:
        raise Refused(Reason("other_workshop", "That job belongs to another workshop."))
    if job.vehicle_id != claim.vehicle_id:
        raise Refused(Reason("value_wrong", f"Job {job.number} is of another car.", where="#job"))
    running = running_repair(claim)
    if running:
        text = f"Job {running.number} puts this right already."
        raise Refused(Reason("already_recorded", text, where=f"/cars/{running.pk}/"))
    decision = claim.decision()
    if decision is None or decision.outcome == Decision.Outcome.REFUSE:
        text = "Nothing is accepted yet: decide first, then take the car in for it."
        raise Refused(Reason("not_decided", text, where=f"/claims/{claim.pk}/decide/"))


def _film_now(claim: Claim) -> Fitting | None:
    """The film on the place now. The one the claim was about may have been replaced meanwhile."""
    piece = claim.fitting.piece if claim.fitting else 1
    return (
        Fitting.objects.live()
        .filter(panel__vehicle=claim.vehicle_id, panel__code=claim.panel, piece=piece)
        .select_related("panel", "job")
        .first()
    )
